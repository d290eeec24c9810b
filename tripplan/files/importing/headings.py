"""What stands around the rows of a sheet: its name, its title, headings between them.

A heading names the unit, or the year, of the rows below it. A name that is not known is
asked about once, and the rows below it wait.
"""

import re
from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.files.importing.cells import lacks_year
from tripplan.files.importing.columns import Laid
from tripplan.files.importing.known import Known
from tripplan.files.importing.raw import RawRow
from tripplan.files.importing.report import Skip
from tripplan.files.importing.ticks import names_work
from tripplan.records.cell_values import MONTHS

YEAR = re.compile(r"(?<!\d)(?:19|20)\d{2}(?!\d)")
FILE_NAME = re.compile(r"\.(?:csv|txt|tsv|xlsx|xlsm)$", re.IGNORECASE)
GENERAL = frozenset(
    [
        "a",
        "all",
        "and",
        "annual",
        "book",
        "by",
        "card",
        "copy",
        "cost",
        "costs",
        "data",
        "distance",
        "distances",
        "done",
        "expenses",
        "export",
        "file",
        "for",
        "from",
        "history",
        "in",
        "is",
        "items",
        "job",
        "jobs",
        "journal",
        "km",
        "kms",
        "list",
        "log",
        "logbook",
        "logs",
        "main",
        "maintenance",
        "mileage",
        "miles",
        "my",
        "new",
        "notes",
        "odometer",
        "of",
        "old",
        "our",
        "page",
        "pages",
        "planner",
        "readings",
        "record",
        "records",
        "repair",
        "repairs",
        "report",
        "schedule",
        "service",
        "services",
        "servicing",
        "sheet",
        "sheets",
        "tab",
        "table",
        "tasks",
        "the",
        "to",
        "work",
        "works",
        "year",
    ]
)
MOST_WORDS = 5


class Around(Struct, frozen=True):
    """The unit named above a row, the year named above it."""

    about: str = ""
    year: int | None = None

    def put_on(self, raw: RawRow) -> RawRow:
        """The row with what stands around it."""
        return replace(raw, about=self.about, year=self.year)


def about_sheet(laid: Laid, sheets: Sequence[Laid], known: Known) -> Around:
    """What the name of a sheet and the lines above its header say."""
    name = FILE_NAME.sub("", laid.sheet.name)
    above = [
        cell
        for number, cells in laid.sheet.rows
        if laid.header_row and number < laid.header_row
        for cell in cells
        if cell
    ]
    years = [year for text in (name, *above) for year in _year_of(text)]
    return Around(
        about=_unit_around(name, above, len(sheets) > 1, known), year=years[0] if len(set(years)) == 1 else None
    )


def _unit_around(name: str, above: Sequence[str], is_one_of_several: bool, known: Known) -> str:
    """The name by which the unit of a sheet is asked for, or found; empty for the usual one."""
    if known.unit_named(name):
        return name
    sure: dict[str, str] = {}
    open_: list[str] = []
    for text in (name, *above):
        units, odd = _units_in(text, known)
        if len(units) == 1 and (not odd or known.kind_of(next(iter(units))) == "vehicle"):
            sure |= units
        elif len(units) == 1:
            open_.append(" ".join(text.casefold().split()))
    if sure or open_:
        return next(iter(sure.values())) if len(sure) == 1 else name if sure else open_[0]
    is_general = not words_in(name) or names_work(name) or all(word in GENERAL for word in words_in(name))
    return name if is_one_of_several and not is_general else ""


def _units_in(text: str, known: Known) -> tuple[dict[str, str], list[str]]:
    """The units that words of a text name, each with its word, and the words that are not known."""
    found: dict[str, str] = {}
    odd = []
    words = words_in(text)
    spot = 0
    while spot < len(words):
        for width in (3, 2, 1):
            said = " ".join(words[spot : spot + width])
            if len(words) - spot >= width and (unit := known.unit_named(said)):
                found.setdefault(unit, said)
                spot += width
                break
        else:
            odd += [words[spot]] if words[spot] not in GENERAL else []
            spot += 1
    return found, odd


def words_in(text: str) -> list[str]:
    """The words of a text in small letters, the names of months apart."""
    words = re.findall(r"[^\W\d_]+(?:'s)?|4wd|4x4", text.casefold())
    return [word for word in words if not any(len(word) > 2 and month.startswith(word) for month in MONTHS)]


def _year_of(text: str) -> list[int]:
    return [int(year) for year in YEAR.findall(text)]


def heading_of(raw: RawRow, around: Around, known: Known) -> tuple[Around, Skip | None]:
    """What holds from this row on, and the skip where the row is nothing but a heading."""
    texts = [text for text in raw.texts.values() if text]
    is_alone = len(texts) == 1 and not raw.notes and not raw.ticks and texts[0] == raw.texts.get("date")
    if not is_alone or lacks_year(texts[0]) or len(texts[0].split()) > MOST_WORDS:
        return around, None
    text, years = texts[0], _year_of(texts[0])
    skip = Skip(sheet=raw.sheet, row=raw.row, why=f"a heading: {text}")
    words = words_in(text)
    if len(years) == 1 and all(word in GENERAL for word in words) and not re.search(r"\d[-/. ]\d", text):
        return Around(around.about, years[0]), skip
    if (words and all(word in GENERAL for word in words)) or (not words and not re.search(r"\d", text)):
        return around, skip
    if re.search(r"\d", text) and not known.unit_named(text):
        return around, None
    return Around(text, around.year), skip
