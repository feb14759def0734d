"""Floor 6: simulated vehicles played through the engine's own questions, and how often it was right."""
