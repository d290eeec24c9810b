"""A row of a table in a line of words, as it is told while it is folded: what it is, and what it is like."""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime

from pydantic_core import PydanticCustomError

from tripplan.records.cell_values import moment
from tripplan.records.facts_in import as_day
from tripplan.sheets import words as say

Cells = Mapping[str, str]
Told = tuple[str, str, str]
Parts = tuple[str, Iterable[str], Iterable[str]]
NEW = {"legs": "A new leg", "crossings": "A new crossing", "stops": "A new stop", "workshop_days": "A new day",
       "history": "A new row"}  # fmt: skip
USUAL = {"corrugation": "none", "dust": "none", "mud": "none", "load": "normal"}


def row_words(part: str, cells: Cells, names: Mapping[str, str]) -> Told:
    """What a row of that table says: its head, what it is like, and what is told where there is room.

    `names` are items and services by their word in the file.
    """
    if not any(value for column, value in cells.items() if column != "leg"):
        return NEW[part], "", ""
    head, like, aside = TOLD[part](cells, names)
    return head or NEW[part], _together(*like), _together(*aside)


def _together(*parts: str) -> str:
    """What there is of the parts, a comma between them."""
    return ", ".join(filter(None, parts))


def when(text: str, with_year: bool = False) -> str:
    """A day, or a day and a time, as people write it; what cannot be read stays as it was typed."""
    try:
        found = moment(text)
    except PydanticCustomError:
        return text
    day = as_day(found)
    told = f"{say.short_day(day)} {day.year}" if with_year else say.short_day(day)
    return f"{told}, {found:%H:%M}" if isinstance(found, datetime) else told


def _with(cells: Cells, column: str, after: str = "", before: str = "") -> str:
    value = cells.get(column, "")
    return f"{before}{value}{after}" if value else ""


def _leg(cells: Cells, names: Mapping[str, str]) -> Parts:
    like = (
        f"{column} {cells[column]}" for column, usual in USUAL.items() if cells.get(column, usual) not in ("", usual)
    )
    ends = (cells.get("from", ""), cells.get("to", ""))
    rest = (
        when(cells.get("depart", "")), _with(cells, "distance_km", " km") or _with(cells, "distance_mi", " miles"),
        _with(cells, "speed_kmh", " km/h"), cells.get("surface", ""), *like, _with(cells, "heat_c", " °C"),
        "towing" if cells.get("towing") == "yes" else "", "remote" if cells.get("remote") == "yes" else "",
    )  # fmt: skip
    return (
        ": ".join(filter(None, (_with(cells, "leg", before="Leg "), " to ".join(filter(None, ends))))),
        rest,
        (cells.get("note", ""),),
    )


def _crossing(cells: Cells, names: Mapping[str, str]) -> Parts:
    crossed = cells.get("crossed", "")
    made = f"crossed {when(crossed)}" if crossed else "planned"
    return (
        _together(_with(cells, "leg", before="Leg "), _with(cells, "at_km", before="km ")),
        (_with(cells, "depth_m", " m deep"), cells.get("water", ""), made),
        (cells.get("note", ""),),
    )


def _stop(cells: Cells, names: Mapping[str, str]) -> Parts:
    arrive, leave = (when(cells.get(column, "")) for column in ("arrive", "leave"))
    head = _together(cells.get("stop", ""), _with(cells, "after_leg", before="after leg "))
    like = (" to ".join(filter(None, (arrive, leave))), cells.get("facility", ""), _with(cells, "minutes", " min"))
    return head, like, ()


def _shed_day(cells: Cells, names: Mapping[str, str]) -> Parts:
    return when(cells.get("date", ""), True), (_with(cells, "minutes", " min"),), ()


def _history(cells: Cells, names: Mapping[str, str]) -> Parts:
    item = names.get(cells.get("item", ""), cells.get("item", "").replace("_", " "))
    act = cells.get("act", "")
    what = _together(item, cells.get("position", "")) or act
    is_said = not item or item.lower().endswith(act.lower())  # "Vehicle two-year service" says its act
    like = ("" if is_said else act, cells.get("finding", ""), _with(cells, "odometer_km", " km"),
            _with(cells, "undone", before="struck out: "))  # fmt: skip
    head = _together(when(cells.get("date", ""), True), cells.get("unit", ""))
    return ": ".join(filter(None, (head, what))), like, (cells.get("lubricant", ""), cells.get("note", ""))


TOLD: Mapping[str, Callable[[Cells, Mapping[str, str]], Parts]] = {
    "legs": _leg, "crossings": _crossing, "stops": _stop, "workshop_days": _shed_day, "history": _history,
}  # fmt: skip
