"""The finished plan held against the rules it was made by, from `plan.json` and the folder alone.

Comes in: a parsed plan, records, tables. Goes out: Problems. Decided here: whether a plan keeps its word. It shares
nothing with `placing` and `explain`.
"""
