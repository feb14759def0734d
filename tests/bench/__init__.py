"""Figures of speed and size: measured and printed, never asserted.

`python -m tests.bench` writes them into DEVELOPERS.md.
"""
