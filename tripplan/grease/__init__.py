"""What is in each space, what may go in, and how much.

Comes in: the history's lubricants, the charts of thickeners, the gun as weighed. Goes out: advice for one place or a
line for the sheet. Decided here: mix, purge, or do not mix; unknown never means yes.
"""
