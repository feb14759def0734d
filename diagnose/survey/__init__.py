"""Turns the answers of a survey into an installation that starts from a layout; pure, asks nothing and opens nothing."""
