"""Floor 0: quantities as people type them, and errors that say what, where and what would be right."""
