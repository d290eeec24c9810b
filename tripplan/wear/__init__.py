"""How much is used: odometer line, rates, when an act was last done, and the wear multipliers of each leg.

Comes in: history, timeline, catalogue. Goes out: true km, hours and months used, and for each leg and item how much
faster than normal it wears; and the Problems of records that contradict each other. Decided here: the one rule by
which conditions act together (`multipliers`), and which records cannot both be true (`contradictions`). Not decided
here: whether anything is due.
"""
