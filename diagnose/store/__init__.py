"""Floor 7: the only floor that opens files; text becomes records here, and every defect a placed problem."""
