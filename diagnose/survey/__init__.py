"""Turns the answers of a survey into an installation that starts from a layout; asks nothing, opens nothing."""
