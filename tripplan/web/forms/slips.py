"""What was refused, in the words of the form it was typed into, with a way to where it stands and what may be meant.

A problem names a file, a row and a column. Whoever fills in a form knows fields; so each form
says which of its fields a problem is about, and what belongs to no field of it is told by the
page that can mend it.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from functools import cache

from msgspec import Struct

from tripplan.files.zones import zones_like
from tripplan.records.cell_values import day_readings
from tripplan.records.problems import Problem
from tripplan.sheets.words import upper_first
from tripplan.web.forms.typed import readings_of

NOTHING = ("", "nothing", "None")
ZONE_CODES = ("R13", "S14")
MOST_OFFERS = 3
COLUMNS = {
    "distance_km": "distance, km", "distance_mi": "distance, miles", "speed_kmh": "speed, km/h", "heat_c": "heat, °C",
    "low_range_km": "km in low range", "odometer_km": "odometer, km", "odometer_mi": "odometer, miles",
    "old_odometer_km": "last km of the old odometer", "at_km": "km from the start of the leg", "depth_m": "depth, m",
    "length_m": "length, m", "after_leg": "after leg", "hubs_hot": "hubs went in hot", "lat": "latitude",
    "lon": "longitude", "from_lat": "latitude at the start", "from_lon": "longitude at the start",
    "to_lat": "latitude at the end", "to_lon": "longitude at the end",
}  # fmt: skip
PAGES = {
    "rig.toml": ("/rig", "The rig"), "trip.toml": ("/trip#dates", "The trip"), "legs.csv": ("/trip#legs", "Legs"),
    "crossings.csv": ("/trip#crossings", "Water crossings"), "stops.csv": ("/trip#stops", "Stops on the way"),
    "workshop.csv": ("/trip#workshop_days", "Days in the shed"), "history.csv": ("/history", "History"),
    "history.xlsx": ("/history", "History"),
}  # fmt: skip
FORM = "this form"
# Where a command would name its own options.
ACCEPTED = {"C17": "the km from the start of the leg"}
HINTS = {"C16": "another crossing of that leg is told apart by its km and its time of day"}


class Field(Struct, frozen=True, kw_only=True):
    """A field of a form: the id of what tells its slip, what the form calls it, and what it takes in the form's words."""

    place: str
    label: str
    accepted: str = ""


class Slip(Struct, frozen=True, kw_only=True):
    """One thing that cannot be used as it was typed. `code` is told only where no form has a field for it."""

    place: str
    label: str
    found: str
    accepted: str
    hint: str = ""
    offers: tuple[str, ...] = ()
    code: str = ""

    @property
    def said(self) -> str:
        """The whole of it, without the name of the field."""
        what = "Empty" if self.found in NOTHING else f"“{self.found}”"
        hint = f" Look at: {self.hint}." if self.hint and not self.offers else ""
        return f"{what}; accepted: {self.accepted}.{hint}" + (" Is this meant?" if self.offers else "")


FieldOf = Callable[[Problem], Field | None]


def slips_of(problems: Iterable[Problem], field_of: FieldOf = lambda problem: None) -> tuple[Slip, ...]:
    """Each problem as a slip, one for each field; first those of the form, in the order they were found."""
    own: dict[tuple[str, str], Slip] = {}
    others: dict[tuple[str, str], Slip] = {}
    for problem in problems:
        field = field_of(problem)
        slip = _slip(problem, field) if field else elsewhere(problem)
        (own if field else others).setdefault((slip.place or slip.label, slip.found), slip)
    return (*own.values(), *others.values())


def elsewhere(problem: Problem) -> Slip:
    """A problem told by the page that can mend it, by its place in the files where none can."""
    page, title = PAGES.get(problem.file, ("", ""))
    if problem.file == FORM:
        return _slip(problem, Field(place="", label=upper_first(column_words(problem.column or "this form"))))
    if not page:
        return _slip(problem, Field(place="", label=problem.place), problem.code)
    row = f"row {problem.row}" if problem.row is not None else ""
    place = f"{page}#history-{problem.row}" if page == "/history" and problem.row else page
    label = ", ".join(filter(None, (title, row, column_words(problem.column or ""))))
    return _slip(problem, Field(place=place, label=label), problem.code)


def column_words(column: str) -> str:
    """A column as the page names it."""
    return COLUMNS.get(column) or column.replace("_", " ")


def by_place(slips: Sequence[Slip]) -> Mapping[str, Slip]:
    """The slips by the field they stand at."""
    return {slip.place: slip for slip in reversed(slips)}


def _slip(problem: Problem, field: Field, code: str = "") -> Slip:
    return Slip(
        place=field.place, label=field.label, found=problem.found, accepted=field.accepted or ACCEPTED.get(problem.code, problem.accepted),
        hint=HINTS.get(problem.code, problem.hint), offers=_offers(problem), code=code,
    )  # fmt: skip


def _offers(problem: Problem) -> tuple[str, ...]:
    if problem.code in ZONE_CODES or problem.column == "home_zone":
        return zone_offers(problem.found)
    return readings_of(problem.found) if day_readings(problem.found) else ()


def zone_offers(word: str) -> tuple[str, ...]:
    """Time zones that somebody who typed this may mean: those of that town, else of towns spelt nearly so."""
    town = word.strip().casefold().replace("_", " ").rpartition("/")[2]
    near = zones_like(word) or tuple(
        zone for name in get_close_matches(town, _towns(), n=MOST_OFFERS, cutoff=0.75) for zone in zones_like(name)
    )
    return tuple(dict.fromkeys(near))[:MOST_OFFERS]


@cache
def _towns() -> tuple[str, ...]:
    """The towns that zones are named after, in small letters."""
    from zoneinfo import available_timezones

    named = (zone.rpartition("/")[2] for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))
    return tuple(sorted({town.replace("_", " ").casefold() for town in named}))
