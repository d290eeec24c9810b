"""The page: the same plan as the command line, to be read and filled in with a browser on this machine.

Comes in: requests. Goes out: pages, and changes of the trip folder, each tried in a shadow of it first. Decided here:
nothing about the plan.
"""
