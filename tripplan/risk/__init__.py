"""What the trip risks, what each hour of work saves, and which spares are worth their weight.

Comes in: standings, water calls, a placement problem and its placing. Goes out: expected failures, standing hours and
the chance to come home without a stop, as planned, with nothing done and with everything done before; what leaving a
job out adds; the curve of work hours; the kit to carry. Decided here: that doubts shared by many items are averaged over
last (`doubts`), and that a share `strands` of an item's failures stops the rig. Not decided here: how failures grow
with use (`placing/lateness.py`), nor where the work goes. Nothing here says that a trip is safe.
"""
