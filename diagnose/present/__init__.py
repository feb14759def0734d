"""Floor 7: terminal and JSON, each showing one frozen record and computing nothing."""
