"""`tripplan fleet`: many rigs by the same plan, on this machine or a cluster, and what they need together.

Comes in: trip folders and what is asked of them. Goes out: each rig's own outputs, a summary by rig and by day in the
shed, one shopping list, one calendar. Decided here: nothing about any plan; only in which order, and where, they are made.
"""
