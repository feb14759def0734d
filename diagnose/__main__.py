"""Runs the command as `python -m diagnose`; it must hold nothing else."""

import sys

from diagnose.cli.main import run

if __name__ == "__main__":
    sys.exit(run())
