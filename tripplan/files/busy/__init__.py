"""The owner's own calendar, read for the days that are taken."""
