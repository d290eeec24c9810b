"""Kilometres or miles: what a column of readings is in, or the one question that settles it.

Signs are weighed: the column's own name, units written in its cells, a title that says so,
fuel in gallons beside it, another sheet of the file. Signs that disagree, or a name such as
mileage alone, are asked about; nothing is converted, or left unconverted, by a guess.
"""

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct

KM_OPEN, KM, MILES = "odometer", "odometer_km", "odometer_mi"
SAYS_KM = re.compile(r"\b(?:km|kms|k's|ks|kays|kilomet(?:er|re)s?)\b")
SAYS_MILES = re.compile(r"\b(?:mi|mls|miles?)\b")
OF_READINGS = re.compile(
    r"\b(?:all|in|reading|readings|odometer|odo|speedo|distance|distances|clock)\b.*\b(?:mi|miles|kms?|kilomet(?:er|re)s)\b"
    r"|^\W*(?:miles|kms?|kilomet(?:er|re)s)\W*$|\((?:mi|miles|kms?)\)"
)
GALLONS = re.compile(r"\b(?:mpg|gal|gals|gallons?|mi/gal|miles per)\b")
LITRES = re.compile(r"\b(?:l/100|l 100|litres per 100|km/l|km l)\b")
CELL_MILES = re.compile(r"\d\s*(?:mi|mls|miles?)\b", re.IGNORECASE)
CELL_KM = re.compile(r"\d\s*(?:km|kms|k's|ks|kilomet(?:er|re)s?)\b", re.IGNORECASE)


class Unit(Struct, frozen=True, kw_only=True):
    """What a column of readings holds, how that is known, and what is asked of its bare cells."""

    holds: str
    found_by: str = ""
    asks: str = ""


class Signs(Struct, frozen=True, kw_only=True):
    """What a sheet says about distances beside the column itself."""

    titles: tuple[str, ...]
    headers: tuple[str, ...]
    elsewhere: frozenset[str] = frozenset()
    is_month_first: bool = False


def unit_of(holds: str, header: str, entries: Sequence[str], signs: Signs) -> Unit:
    """The unit of a column of readings; `holds` is what its name alone says."""
    told_mi = [text for text in signs.titles if _title_says(text, SAYS_MILES)]
    told_km = [text for text in signs.titles if _title_says(text, SAYS_KM)]
    if SAYS_KM.search(header) and SAYS_MILES.search(header):
        return _asked(header, "its name says both")
    if holds == MILES or SAYS_KM.search(header):
        against = told_km if holds == MILES else told_mi
        return _asked(header, f"its name says one unit and {against[0]!r} the other") if against else Unit(holds=holds)
    if told_mi and told_km:
        return _asked(header, f"{told_mi[0]!r} and {told_km[0]!r} are both said")
    if told_mi:
        return Unit(holds=MILES, found_by=f"as {told_mi[0]!r} says")
    return _from_cells(holds, header, entries, signs, bool(told_km))


def says_miles(text: str) -> bool:
    """True for a line such as `all readings in miles`."""
    return _title_says(text, SAYS_MILES)


def _from_cells(holds: str, header: str, entries: Sequence[str], signs: Signs, is_told_km: bool) -> Unit:
    in_miles = any(CELL_MILES.search(text) for text in entries)
    in_km = any(CELL_KM.search(text) for text in entries)
    if in_miles:
        more = " and some km" if in_km else ""
        return _asked(header, f"some of its cells say miles{more}, and others nothing")
    for_miles = [*_found(GALLONS, signs.headers), *_found(SAYS_MILES, signs.headers)]
    for_miles += ["another sheet"] if MILES in signs.elsewhere else []
    for_km = [*_found(SAYS_KM, signs.headers), *_found(LITRES, signs.headers)]
    for_km += ["a title"] if is_told_km else []
    for_km += ["its cells"] if in_km else []
    if holds == KM_OPEN:
        if for_miles and not for_km:
            return Unit(holds=MILES, found_by=f"by its name and {for_miles[0]!r} beside it")
        if for_km and not for_miles:
            return Unit(holds=KM, found_by=f"by its name and {for_km[0]!r} beside it")
        return _asked(header, "the table does not say")
    if for_miles:
        return _asked(header, f"{for_miles[0]!r} stands beside it")
    if signs.is_month_first and not for_km:
        return _asked(header, "its dates have the month first, as where miles are usual")
    return Unit(holds=KM)


def _title_says(text: str, unit: re.Pattern[str]) -> bool:
    """True for `all readings in miles`, not for a trip of 300 miles."""
    plain = text.lower()
    return bool(
        unit.search(plain) and OF_READINGS.search(plain) and not re.search(r"\d[\d,]*\s*(?:mi|miles|kms?)\b", plain)
    )


def _found(sign: re.Pattern[str], texts: Iterable[str]) -> list[str]:
    return [text for text in texts if sign.search(text)]


def _asked(header: str, why: str) -> Unit:
    asks = (
        f"column {header}: kilometres or miles? {why[0].upper()}{why[1:]}. Say it once in the mapping file: "
        f'[columns] "{header}" = "{MILES}" or "{KM}"'
    )
    return Unit(holds=KM_OPEN, found_by="kilometres or miles is asked", asks=asks)
