"""Readers and writers: the trip folder, tables, tracks, busy calendars, importing, the logbook.

Comes in: bytes. Goes out: records and Problems, or whole files on the disk. Decided here: how text becomes a record
and back. One reader serves every edge.
"""
