"""Places the parts of an installation in a wiring picture; it calculates no circuit and writes no file."""
