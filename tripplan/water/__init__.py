"""Which points a crossing puts under, and which acts that calls for, by when.

Comes in: crossings planned and made, heights, the water rules. Goes out: calls with their windows. Decided here: how
high the water came and what follows; not where the work is done.
"""
