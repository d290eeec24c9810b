"""The page: the same plan as the command line, to be read and filled in with a browser on this machine."""
