"""Broken and hostile input for the whole program: a kept corpus, mutations of valid files, typed lines, command lines.

`python -m tests.fuzz 20000` tries that many and prints counts; the tests try fewer.
"""
