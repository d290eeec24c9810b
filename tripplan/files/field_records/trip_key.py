"""Which trip a phone's records are of: all that a sheet for the phone needs of how they come home."""

import zlib


def trip_key(rig: str, trip: str, depart: str) -> str:
    """The name under which a phone keeps the records of a trip: a new plan of the same trip finds them again."""
    return f"{zlib.crc32(chr(10).join((rig, trip, depart)).encode('utf-8', 'replace')):08x}"
