"""What the owner has at hand, from the trip folder: `lubricants.csv`, `shelf.csv`, `grease_gun.toml`.

All three are optional. A gun that was never weighed is no gun: nothing is assumed for it.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from tripplan.explain.shelf import Kit, shelf_problems
from tripplan.files.tables import SomeRecord, read_records
from tripplan.files.toml_files import keys_as_record, read_toml
from tripplan.files.whole_files import put
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import GreaseGun, OwnLubricant, names_of
from tripplan.records.problem_codes import figure, problem
from tripplan.records.problems import Problem, in_order
from tripplan.records.shelf import ShelfRow
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
    origin = Origin(file=path.name)
    values, problems = read_toml(path, GUN_ACCEPTED)
    gun, problems = (None, problems) if values is None else keys_as_record(values, GreaseGun, "G", origin)
    if gun is not None:
        problems += tuple(implausible(gun.g_per_stroke, origin, "g_per_stroke"))
    return (None if problems else gun), problems


def write_gun(folder: Path, g_per_stroke: float, strokes: float, weighed_g: float, today: date) -> Path:
    """Leave the weighing in the trip folder, whole or not at all."""
    lines = (
        "# Weighed on a scale, never assumed. Weigh again after a change of gun, grease or season.",
        f"g_per_stroke = {g_per_stroke:.4g}", f"strokes = {strokes:g}", f"date = {today.isoformat()}",
        f"# {strokes:g} strokes gave {weighed_g:g} g",
    )  # fmt: skip
    return put(folder / GUN, ("\n".join(lines) + "\n").encode())


def implausible(g_per_stroke: float, origin: Origin, column: str) -> Iterator[Problem]:
    """What is wrong with the output of a gun."""
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
