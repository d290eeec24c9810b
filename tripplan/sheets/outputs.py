"""All output files of one plan, written so that a reader never finds half a file."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, time
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from tripplan.explain.cards import CrossingCard
from tripplan.files.plan_file import passed_slots
from tripplan.files.way_in import NotRead, read_file
from tripplan.files.whole_files import write_all
from tripplan.records.plan import Plan
from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.sheets import cards_html, lists, plan_json
from tripplan.sheets.calendar import file as calendar_file
from tripplan.sheets.calendar.entries import EVENT, TODO
from tripplan.sheets.calendar.register import Register, merged, read_register, register_text
from tripplan.sheets.field import page as field_page
from tripplan.sheets.field.bank import Bank
from tripplan.sheets.route_places import Places
from tripplan.sheets.worksheet import html as worksheet_html
from tripplan.sheets.worksheet import text as worksheet_text

REGISTER_FILE = "calendar_register.json"
OUTPUT_FILES = (
    "plan.json", "worksheet.html", "worksheet.txt", "tasks.csv", "shopping.csv",
    "cards.html", "field.html", "calendar.ics", "calendar_todo.ics", REGISTER_FILE,
)  # fmt: skip


def write_outputs(
    plan: Plan, out_dir: Path, stamp: datetime | None = None, cards: Sequence[CrossingCard] | None = None,
    places: Places | None = None, bank: Bank | None = None,
) -> list[Path]:  # fmt: skip
    """Write every output into `out_dir` and return the paths, in the order of OUTPUT_FILES.

    `cards` are those of `cards.crossing_cards`; without them the page says so. `places` are
    those of `route_places.places_of`, for the map; without them the sheet has none. `bank` is that of
    `field.bank.bank_of`; without it the file for the phone works out nothing at the water.
    `stamp` is the moment put on changed calendar entries; without it midnight UTC of the
    plan's `today`, so that equal inputs give equal files. All texts are made before the
    first file is touched. Raises BadInput K01 or K02 for an earlier calendar that cannot
    be carried on, K03 when the folder cannot be written.
    """
    return put_outputs(out_dir, output_contents(plan, out_dir, stamp, cards, places, bank))


def output_contents(
    plan: Plan, out_dir: Path, stamp: datetime | None = None, cards: Sequence[CrossingCard] | None = None,
    places: Places | None = None, bank: Bank | None = None,
) -> tuple[bytes, ...]:  # fmt: skip
    """What every output will hold, in the order of OUTPUT_FILES; nothing is written."""
    moment = stamp or datetime.combine(plan.today, time(), UTC)
    register = calendar_file.issue(plan, moment, earlier_register(out_dir))
    passed = passed_slots(out_dir, plan.trip, plan.today, {slot.id for slot in plan.slots})
    return tuple(_contents(plan, register, cards, places, bank, passed))


def put_outputs(out_dir: Path, contents: Sequence[bytes]) -> list[Path]:
    """Write the contents of `output_contents`; raises BadInput K03 when that is not possible."""
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        return write_all({out_dir / name: content for name, content in zip(OUTPUT_FILES, contents, strict=True)})
    except OSError as why:
        raise BadInput([_unwritable(out_dir, why)]) from why


def earlier_register(out_dir: Path) -> Register:
    """What was issued into this folder before: from the register, and from the calendars."""
    calendars = [(name, out_dir / name) for name in calendar_file.FILES.values()]
    try:
        found = [(name, read_file(path)) for name, path in calendars if path.exists()]
        path = out_dir / REGISTER_FILE
        text = read_file(path).decode("utf-8", "replace") if path.exists() else ""
    except NotRead as why:
        raise BadInput([_unreadable(out_dir, why.found)]) from None
    register = read_register(text) or Register()
    if found and all(register.files.get(name) == hash_of(content) for name, content in found):
        return register
    return merged(register, calendar_file.rebuilt(found))


def hash_of(content: bytes) -> str:
    """A hash that tells whether a file is still the one that was written."""
    return hashlib.sha256(content).hexdigest()


def _contents(
    plan: Plan, register: Register, cards: Sequence[CrossingCard] | None, places: Places | None, bank: Bank | None,
    passed: Sequence[Mapping[str, Any]],
) -> Iterable[bytes]:  # fmt: skip
    texts = (
        plan_json.plan_json(plan, passed),
        worksheet_html.worksheet_html(plan, places),
        worksheet_text.worksheet_text(plan),
        lists.tasks_csv(plan),
        lists.shopping_csv(plan),
        cards_html.cards_html(plan, cards),
        field_page.field_html(plan, cards, bank),
    )
    calendars = [calendar_file.render(plan, component, register) for component in (EVENT, TODO)]
    names = [calendar_file.FILES[component] for component in (EVENT, TODO)]
    hashes = {name: hash_of(content) for name, content in zip(names, calendars, strict=True)}
    return (
        *(text.encode("utf-8", "replace") for text in texts),
        *calendars,
        register_text(replace(register, files=hashes)).encode("utf-8", "replace"),
    )


def _unwritable(out_dir: Path, why: OSError) -> Problem:
    return _unreadable(out_dir, why.strerror or str(why))


def _unreadable(out_dir: Path, found: str) -> Problem:
    return Problem(
        code="K03",
        weight=STOPS,
        file=str(out_dir),
        found=found,
        accepted="a folder that can be read and written, or a name not yet taken",
    )
