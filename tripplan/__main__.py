"""`python -m tripplan` is the same as the command `tripplan`."""

from tripplan.cli import main

main()
