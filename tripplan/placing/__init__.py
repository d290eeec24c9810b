"""Where the work goes: the problem, what waiting costs, the search, its bound.

Comes in: standings and water calls. Goes out: a `Placing`, which says who is done at which site, and what was left
undone. Decided here: when and where each act is done. Words for it are made elsewhere.
"""
