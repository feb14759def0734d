"""Floor 4: a vehicle with a hidden fault that answers the meter as a real one would."""
