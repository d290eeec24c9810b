"""Every problem code that can be raised is in the table, and every code in the table can be raised.

Certain, not lucky: codes written out are read off the source; codes put together from the letter
of a file and the kind of a fault are followed from each field to all that it can refuse.
"""

import ast
import re
import tempfile
from collections.abc import Iterator
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

import annotated_types
import pytest
from pydantic import BeforeValidator, ValidationError
from pydantic.fields import FieldInfo

import tripplan
from tests.support import FILES, TODAY
from tripplan.due.findings import EvidenceSwitch
from tripplan.files.data_tables import TABLES
from tripplan.files.folder import TRIP_TABLES, read_folder, read_rig
from tripplan.files.kit_files import GUN, read_gun
from tripplan.files.left_out import LeftOut
from tripplan.files.refusals import KIND_OF, columns_of
from tripplan.files.tables import Table, records_of
from tripplan.records import cell_values, item_cells, sourced
from tripplan.records.facts_in import (
    Crossing,
    EarlierCrossing,
    EarlierLeg,
    HistoryRow,
    Leg,
    Origin,
    Record,
    Rig,
    Trip,
    Unit,
)
from tripplan.records.lubricants import GreaseGun, OwnLubricant
from tripplan.records.problem_codes import ALL_CODES
from tripplan.records.shelf import ShelfRow
from tripplan.records.words import Facility, Finding, LeftOutAs

ROOT = Path(tripplan.__file__).parent
MODULES = sorted(path for path in ROOT.rglob("*.py") if path.name != "problem_codes.py")
TESTS = sorted((ROOT.parent / "tests").rglob("test_*.py"))
CODE = re.compile(r"[A-Z][0-9]{2}")
MAKERS = {
    "problem", "Problem", "logbook_problem", "command_problem", "refusal", "refused", "_refused", "_refusal", "_problem",
}  # fmt: skip
BUILT = {"f'{letter}01'", "f'{letter}07'", "f'{letter}{kind}'"}
READ: dict[tuple[str, str], type[Record]] = {
    (record.__name__, letter): record
    for record, letter in (
        *((record, letter) for _, record, letter in TRIP_TABLES.values()),
        *((record, "O") for _, record, _ in TABLES.values()),
        (HistoryRow, "H"), (Leg, "L"), (EarlierLeg, "L"), (Crossing, "C"), (EarlierCrossing, "C"),
        (EvidenceSwitch, "O"), (LeftOut, "O"), (OwnLubricant, "G"), (ShelfRow, "G"),
    )
}  # fmt: skip
RIG = 'name = "Wagon"\nhome_zone = "Australia/Darwin"\n'
UNIT = 'id = "wagon"\nkind = "vehicle"\n'
TRIP = FILES["trip.toml"]
GUN_LINES = "g_per_stroke = 1.3\nstrokes = 10\ndate = 2026-06-20\n"
SECTIONS: dict[str, tuple[type[Record], str]] = {
    "Unit": (Unit, UNIT), "Rig": (Rig, RIG), "Trip": (Trip, TRIP), "GreaseGun": (GreaseGun, GUN_LINES),
}  # fmt: skip

# What the reading of a cell of text can refuse, and what its type still can, beside its bounds.
BY_READER: dict[Any, set[str]] = {
    cell_values.number: {"number"}, cell_values.day: {"day"}, cell_values.moment: {"moment"}, cell_values.word: set(),
    cell_values.yes_no: {"word"}, cell_values.locked_share: {"word"}, sourced.words: set(),
    **{get_args(kind)[1].func: {"form", "word"} for kind in (item_cells.FollowUps, item_cells.Amounts, item_cells.Needs)},
}  # fmt: skip
BY_TYPE: dict[Any, set[str]] = {
    float: set(), bool: set(), str: set(), date: set(), datetime: set(), Literal: {"literal_error"}, Facility: {"enum"}, Finding: {"enum"}, LeftOutAs: {"enum"},
    int: {"int_from_float", "int_parsing_size"}, item_cells.FollowUp: set(), item_cells.Amount: set(), item_cells.Need: set(),
}  # fmt: skip
BOUNDS: dict[type, str] = {
    annotated_types.Gt: "greater_than", annotated_types.Ge: "greater_than_equal", annotated_types.Lt: "less_than",
    annotated_types.Le: "less_than_equal", annotated_types.MinLen: "string_too_short",
}  # fmt: skip
TEXTS = (
    "x", "A b", "/", "0", "-1", "-99999", "1.5", "1e9", "99999999999999999999", "9" * 39, "9" * 41, "2026-02-30", "9999-12-31",
    "0001-01-01", "2026-07-06 15:20", "2026-07-06 25:20", "3/4/2026", "yes", "locked", "1,5", "=1+1", ";", "a;b", "½",
    "١٨٤", "\u202e", "\ufeff", "NULL",
)  # fmt: skip
VALUES = (
    '""', '"  "', '"x"', '"1"', '"2026-02-30"', "0", "-1", "1.5", "1e9", "99999999999999999999999", "9" * 400, "inf", "nan",
    "true", "2026-07-03", "2026-07-03T10:00:00", "10:00:00", "[]", '["a"]', "[1]", "[[1]]", "{}", "{a = 1}", '{a = "x"}',
    "{a = true}", "{a = [1]}", "{a = nan}",
)  # fmt: skip


def written_out(path: Path) -> set[str]:
    """The codes that stand in a module as they are."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    texts = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return {text for text in texts if CODE.fullmatch(text)}


def code_arguments(path: Path) -> Iterator[ast.expr]:
    """What is given as the code wherever a Problem is made."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in MAKERS:
            yield from (keyword.value for keyword in node.keywords if keyword.arg == "code")
            yield from node.args[:1]


def leaves(annotation: Any) -> Iterator[Any]:
    """The types that a field holds at last, and the bounds that stand with them."""
    if get_origin(annotation) is Literal:
        yield Literal
    elif get_origin(annotation) is Annotated:
        yield from leaves(annotation.__origin__)
        yield from annotation.__metadata__
    elif inner := [part for part in get_args(annotation) if part is not Ellipsis]:
        for part in inner:
            yield from leaves(part)
    elif annotation is not type(None):
        yield annotation


def foreseen(field: FieldInfo) -> set[str]:
    """Every kind of refusal that a field can give to text; a type or reader that nobody listed fails."""
    found: set[str] = set()
    for leaf in (*leaves(field.annotation), *field.metadata):
        for part in leaf.metadata if isinstance(leaf, FieldInfo) else (leaf,):
            if isinstance(part, BeforeValidator):
                found |= BY_READER[part.func]
            elif type(part) in BOUNDS:
                found.add(BOUNDS[type(part)])
            elif getattr(part, "pattern", None):
                found.add("string_pattern_mismatch")
            elif isinstance(part, type) and issubclass(part, StrEnum):
                found.add("enum")
            else:
                found |= BY_TYPE[part]
    return found


def refused(record: type[Record], field: str, text: str | None) -> set[str]:
    """The kinds of refusal that a text in one cell really gives."""
    try:
        record.model_validate({field: text, "origin": Origin(file="x")})
    except ValidationError as error:
        return {entry["type"] for entry in error.errors() if entry["loc"][0] == field and entry["input"] is not None}
    return set()


def codes_of_table(record: type[Record], letter: str) -> set[str]:
    """Every code that a table of such rows gives: each cell foreseen, each column missing or one too many."""
    fields = columns_of(record)
    required = {name for name, field in fields.items() if field.is_required()}
    kinds = {KIND_OF[kind] for field in fields.values() for kind in foreseen(field)} | {"07"}
    return {letter + kind for kind in kinds | ({"01", "02"} if required else set())}


def seen_in_table(record: type[Record], letter: str) -> set[str]:
    """The codes that hostile texts in every cell really give."""
    fields = tuple(columns_of(record))
    rows = [{name: text if name == spot else "" for name in fields} for spot in fields for text in TEXTS]
    table = Table(file="x.csv", header=fields, rows=tuple(enumerate(rows, 2)))
    headless = Table(file="x.csv", header=("zzzz",), rows=((2, {"zzzz": "1"}),))
    return {told.code for each in (table, headless) for told in records_of(each, record, letter)[1]}


def codes_of_section(name: str, values: dict[str, str], folder: Path) -> set[str]:
    """The codes that a file of sections gives, the section `name` of it holding these values."""
    lines = "".join(f"{key} = {value}\n" for key, value in values.items())
    if name == "GreaseGun":
        (folder / GUN).write_text(lines, encoding="utf-8")
        return {told.code for told in read_gun(folder / GUN)[1]}
    if name == "Trip":
        (folder / "trip.toml").write_text(lines, encoding="utf-8")
        return {told.code for told in read_folder(folder, TODAY)[1]}
    rig = [lines if name == "Rig" else RIG, "[[unit]]\n", lines if name == "Unit" else UNIT]
    (folder / "rig.toml").write_text("".join(rig), encoding="utf-8")
    return {told.code for told in read_rig(folder / "rig.toml")[1]}


@cache
def seen_in_section(name: str) -> set[str]:
    """The codes that every kind of value after every key gives, and every key left out."""
    given = dict(line.split(" = ", 1) for line in SECTIONS[name][1].splitlines())
    found: set[str] = set()
    with tempfile.TemporaryDirectory() as place:
        for key in (*columns_of(SECTIONS[name][0]), "zzzz"):
            for value in VALUES:
                found |= codes_of_section(name, {**given, key: value}, Path(place))
            found |= codes_of_section(name, {k: v for k, v in given.items() if k != key}, Path(place))
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_code_is_written_out_or_made_of_letter_and_kind(path: Path) -> None:
    """Otherwise a code could be put together that the tests below do not follow."""
    for argument in code_arguments(path):
        if isinstance(argument, ast.JoinedStr):
            assert ast.unparse(argument) in BUILT
        else:
            assert isinstance(argument, ast.Constant | ast.Name | ast.IfExp | ast.Attribute | ast.Subscript), (
                ast.unparse(argument)
            )


def test_every_code_written_out_is_in_the_table() -> None:
    """Otherwise an owner who looks it up would find nothing."""
    strange = {str(path.relative_to(ROOT)): written_out(path) - set(ALL_CODES) for path in MODULES}
    assert {path: codes for path, codes in strange.items() if codes} == {}


def test_every_table_that_is_read_is_followed() -> None:
    """Otherwise a new file could give codes that nobody has looked up."""
    read = set()
    for path in MODULES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call | ast.Tuple):
                parts = node.args if isinstance(node, ast.Call) else node.elts
                names = [part.id for part in parts if isinstance(part, ast.Name)]
                letters = [
                    p.value for p in parts if isinstance(p, ast.Constant) and re.fullmatch("[A-Z]", str(p.value))
                ]
                read |= {
                    (name, letter) for name in names for letter in letters if name[0].isupper() and not name.isupper()
                }
    assert read - {("Unit", "R"), ("Rig", "R"), ("Trip", "T"), ("GreaseGun", "G")} <= set(READ)


@pytest.mark.parametrize(
    ("record", "letter"),
    [(record, letter) for (_, letter), record in READ.items()],
    ids=[" ".join(key) for key in READ],
)
def test_what_a_cell_can_refuse_is_foreseen_and_in_the_table(record: type[Record], letter: str) -> None:
    """Otherwise a cell that only a rare text breaks would give a code that no table knows."""
    for name, field in columns_of(record).items():
        for text in TEXTS:
            assert refused(record, name, text) <= foreseen(field), (name, text)
    codes = codes_of_table(record, letter)
    assert codes <= set(ALL_CODES)
    assert seen_in_table(record, letter) <= codes | {"F05"}


@pytest.mark.parametrize("name", SECTIONS)
def test_what_a_key_can_refuse_is_in_the_table(name: str) -> None:
    """Otherwise a value of an odd kind after a key would give a code that no table knows."""
    assert seen_in_section(name) <= set(ALL_CODES)


def test_every_code_of_the_table_can_happen() -> None:
    """Otherwise the table would tell of faults that nothing finds."""
    can_happen = {code for path in MODULES for code in written_out(path)}
    for (_, letter), record in READ.items():
        can_happen |= codes_of_table(record, letter)
    for name in SECTIONS:
        can_happen |= seen_in_section(name)
    assert set(ALL_CODES) - can_happen == set()


@pytest.mark.parametrize("code", sorted(ALL_CODES))
def test_every_code_is_named_by_a_test(code: str) -> None:
    """Otherwise a problem could be worded that nobody has ever seen happen."""
    assert re.search(rf"\b{code}\b", all_tests())


@cache
def all_tests() -> str:
    """The text of every other test."""
    return "".join(path.read_text(encoding="utf-8") for path in TESTS if path != Path(__file__))
