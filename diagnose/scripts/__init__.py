"""The walk compiled ahead, for a telephone or a pocket: no file, no clock, no terminal."""
