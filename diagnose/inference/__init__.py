"""Floor 4: from readings to a ranking with reasons, and to the next test worth taking."""
