"""From an answer to the parts of a plan: slots, shopping, reasons, warnings, crossings, cards, moves, ways out.

Comes in: standings, calls, a placing. Goes out: records of the plan, each with the rows it came from. Decided here:
what an owner is told; no wear, no limit and no place is worked out again.
"""
