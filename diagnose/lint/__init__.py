"""Floor 6: the rule base judged, each finding with place and advice; reads no file."""
