"""Physical effects behind wear, one a file, each a handful of pure functions.

Every model states its formula, the range it holds for, a worked number and its source, and
raises `OutOfRange` outside that range. `tripplan.wear.from_mechanisms` is the only door to them for the
planner; notebooks and tests may use them one by one.
"""
