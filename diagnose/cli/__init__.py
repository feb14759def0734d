"""Floor 8: the commands, one file each, and the asker that owns terminal input; thin: parse, call, present, exit."""
