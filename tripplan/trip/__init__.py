"""The trip line: legs in time, free days, daylight, what-if; the way on the map lies in `route`.

Comes in: the trip's records and a few assumptions. Goes out: the timeline cut at crossings, which day a kilometre
falls on, how far help is. Decided here: where on the road and when; not what wears.
"""
