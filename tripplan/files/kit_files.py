"""What the owner has at hand, from the trip folder: `lubricants.csv`, `shelf.csv`, `grease_gun.toml`.

All three are optional. A gun that was never weighed is no gun: nothing is assumed for it.
"""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tripplan.explain.shelf import Kit, ShelfRow, shelf_problems
from tripplan.files.refusals import columns_of, known_names, wording
from tripplan.files.tables import SomeRecord, decoded, read_bytes, read_records
from tripplan.files.way_in import NotRead, toml_of
from tripplan.files.whole_files import put
from tripplan.records.catalogue import Catalogue
from tripplan.records.cell_values import DAY_ACCEPTED, NUMBER_ACCEPTED
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import GreaseGun, OwnLubricant, names_of
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem, in_order
from tripplan.wear.mechanisms.grease import LEAST_G_PER_STROKE, MOST_G_PER_STROKE

LUBRICANTS, SHELF, GUN = "lubricants.csv", "shelf.csv", "grease_gun.toml"
GUN_ACCEPTED = "lines such as g_per_stroke = 1.32, strokes = 10 and date = 2026-06-20"


def read_kit(folder: Path, catalogue: Catalogue, gun_file: Path | None = None) -> tuple[Kit, tuple[Problem, ...]]:
    """The owner's lubricants, gun and shelf, with every problem of their files."""
    own, own_problems = _optional(folder / LUBRICANTS, OwnLubricant)
    shelf, shelf_found = _optional(folder / SHELF, ShelfRow)
    gun, gun_problems = read_gun(gun_file or folder / GUN, is_needed=gun_file is not None)
    problems = (
        *own_problems, *_same_names(own), *shelf_found, *shelf_problems(shelf, catalogue.consumables),
        *gun_problems,
    )  # fmt: skip
    return Kit(lubricants=own, gun=gun, shelf=shelf), in_order(problems)


def read_gun(path: Path, is_needed: bool = False) -> tuple[GreaseGun | None, tuple[Problem, ...]]:
    """The gun as weighed; None when there is no file and none is needed."""
    if not is_needed and not path.exists():
        return None, ()
    raw, problems = read_bytes(path, path.name)
    text, problems = decoded(raw, path.name) if raw is not None else (None, problems)
    if text is None:
        return None, problems
    origin = Origin(file=path.name)
    try:
        values = toml_of(text)
    except (tomllib.TOMLDecodeError, NotRead):
        return None, (problem("F14", origin, None, text.strip().split("\n")[0][:80], GUN_ACCEPTED),)
    if odd := tuple(_odd_keys(values, origin)):
        return None, odd
    try:
        gun = GreaseGun.model_validate({**values, "origin": origin})
    except ValidationError as error:
        return None, tuple(wording(error, GreaseGun, "G", origin, values, {key: key for key in values}))
    outside = tuple(_implausible(gun.g_per_stroke, origin, "g_per_stroke"))
    return (None if outside else gun), outside


def _odd_keys(values: Mapping[str, Any], origin: Origin) -> Iterator[Problem]:
    """Keys that the gun file does not have, and values that only look like a number or a date."""
    known = columns_of(GreaseGun)
    for key, value in values.items():
        if key not in known:
            yield problem("G07", origin, key, key, known_names(key, known), "take the line out")
        elif key == "date" and not isinstance(value, (date, str)):
            yield problem("G04", origin, key, str(value), DAY_ACCEPTED)
        elif isinstance(value, bool):
            yield problem("G03", origin, key, str(value).lower(), NUMBER_ACCEPTED)


def write_gun(folder: Path, g_per_stroke: float, strokes: float, weighed_g: float, today: date) -> Path:
    """Leave the weighing in the trip folder, whole or not at all."""
    lines = (
        "# Weighed on a scale, never assumed. Weigh again after a change of gun, grease or season.",
        f"g_per_stroke = {g_per_stroke:.4g}", f"strokes = {strokes:g}", f"date = {today.isoformat()}",
        f"# {strokes:g} strokes gave {weighed_g:g} g",
    )  # fmt: skip
    return put(folder / GUN, ("\n".join(lines) + "\n").encode())


def gun_problems(g_per_stroke: float) -> tuple[Problem, ...]:
    """What is wrong with an output just weighed on the command line."""
    return tuple(_implausible(g_per_stroke, Origin(file="command line"), "--weighed"))


def _implausible(g_per_stroke: float, origin: Origin, column: str) -> Iterator[Problem]:
    if not LEAST_G_PER_STROKE <= g_per_stroke <= MOST_G_PER_STROKE:
        accepted = f"{LEAST_G_PER_STROKE:g} to {MOST_G_PER_STROKE:g} g a stroke; 1 to 3 g is usual"
        hint = "air in the gun, a scale set to another unit, or half strokes"
        yield problem("G19", origin, column, f"{figure(g_per_stroke)} g a stroke", accepted, hint)


def _optional(path: Path, record: type[SomeRecord]) -> tuple[tuple[SomeRecord, ...], tuple[Problem, ...]]:
    return read_records(path, record, "G") if path.exists() else ((), ())


def _same_names(own: Sequence[OwnLubricant]) -> Iterator[Problem]:
    first: dict[str, OwnLubricant] = {}
    for row in own:
        for name in dict.fromkeys(names_of(row)):
            if first.setdefault(name, row) is not row:
                accepted = f"a name that row {first[name].origin.row} does not have"
                yield problem("G12", row.origin, "own_name", name, accepted)
