"""One file a command: read, call, write, and return the exit status. `__main__.py` only parses.

Comes in: words typed by a person. Goes out: files, lines on the terminal, and a status (0 made, 1 with warnings, 2
the input stops it). Decided here: nothing about the plan.
"""
