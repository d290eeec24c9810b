"""Where an item runs out on the trip, how it stands today, and what findings say of its life.

Comes in: use, wear and intervals. Goes out: courses, standings with their verdict, revised intervals. Decided here:
due, runs out on the way, lasts, no record; not where the work is done.
"""
