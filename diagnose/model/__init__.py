"""Floor 1: frozen records of everything the program talks about; no calculation, no files."""
