"""Tests, one folder a floor, and `house` for the rules that hold for all of them."""
