"""Records made on the phone: the text they come home in, and how they are put into the trip folder.

Comes in: the text of `field.html`, and a folder as it is. Goes out: rows for the history, changes of crossings and
notes, with a Problem for each record that is not taken. Decided here: what of a damaged text still counts, that a
record counts once however often it is given, and what speaks against one.

The text is ASCII, form 1. What stands before its first and behind its last line is not read.

    tripplan field records, form 1
    3f2a91bc {"depart":"2026-06-20","key":"9c0d11aa","planned":"2026-05-25","rig":"...","trip":"...","written":"..."}
    77aa0102 {"act":"look","at":"2026-06-27T20:14:05+08:00","finding":"water","id":"...","item":"...","kind":"work",...}
    end 1 5d6e7f80

Each line between the first and the last begins with its own checksum (CRC-32 of ISO 3309, as zlib has it), so that a
damaged record is told and the others are read; the last line has their number and the checksum of all lines above it.
Kinds: `work` (unit, item, act; position, finding, note, slot), `reading` (unit, odometer_km; note), `note`, `round` (a
walk-round), `crossing` (leg, at_km, depth_m, water, when; minutes, hubs_hot, stalled) and `undo` (of).

The same text may come in parts, as the squares for a camera hold it: one line each, in any order, lines of the text
ending in tabs. The sum is that of the whole text.

    tripplan field part 2/5 0c1d2e3f ...|
"""
