"""`tripplan grease`: what is in a place, what may go in, how much; and the weighing of the gun."""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, refuse_idle, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.files.held import folder_held
from tripplan.records.cell_values import PLAIN_NUMBER
from tripplan.records.facts_in import Origin
from tripplan.records.lubricants import Cavity
from tripplan.records.problem_codes import figure, nearest, problem
from tripplan.records.problems import BadInput, Problem, problem_row, stops

WEIGHING = re.compile(r"\s*([^=\s]+)\s*=\s*([^=]*?)\s*(kg|g)?\s*", re.IGNORECASE)
WEIGHED_ACCEPTED = "strokes=grams of the primed gun on a scale, e.g. 10=13.2g"
LEAST_STROKES, MOST_STROKES = 5.0, 200.0


@tells_refusals
def grease(
    folder: Path, item: str, with_lubricant: str | None, gun_file: Path | None, today: str | None, as_json: bool
) -> int:
    """Print what is in an item's spaces, what may go in, how much, and how many strokes."""
    from tripplan.commands.item_words import items_meant
    from tripplan.files.folder import load
    from tripplan.files.kit_files import read_kit
    from tripplan.grease.advice import advise, cavity_items
    from tripplan.grease.amounts import space_faults
    from tripplan.grease.what_is_in import read_contents
    from tripplan.records.lubricants import named_lubricant
    from tripplan.sheets.grease_text import advice_json, advice_text

    inputs, catalogue, problems = load(folder, day_of(today))
    if inputs is None or stops(problems):
        raise BadInput(problems)
    kit, kit_problems = read_kit(folder, catalogue, gun_file)
    kit_problems += tuple(_fault_problems(space_faults(catalogue.cavities)))
    if stops(kit_problems):
        raise BadInput(kit_problems)
    meant = items_meant(item, catalogue, inputs.rig)
    greased = [one for one in meant if one.id in cavity_items(catalogue)] or meant
    if len(greased) != 1:
        fitting = [one.id for one in greased] or cavity_items(catalogue)
        raise _refused("A02", "ITEM", item or "nothing", f"an item such as {nearest(item, fitting, 6)}")
    wanted = greased[0]
    ledger = read_contents(inputs.history, catalogue, kit.lubricants)
    if not ledger.cavities(wanted.id):
        known = nearest(wanted.id, cavity_items(catalogue), 6)
        raise _refused("G14", "ITEM", wanted.id, f"an item that takes grease or oil: {known}")
    new = named_lubricant(with_lubricant, ledger.lubricants) if with_lubricant is not None else None
    if with_lubricant is not None and new is None:
        listed = nearest(with_lubricant, [name for row in ledger.lubricants for name in (row.id, row.label)], 6)
        hint = "put a tin of your own into lubricants.csv of the trip folder"
        raise _refused("G13", "--with", with_lubricant, listed, hint)
    units = [unit for unit in inputs.rig.units if wanted.fits(unit)]
    if not units:
        raise _refused("G20", "ITEM", wanted.id, "an item that one of your units has")
    advices = [
        advice for unit in units for position in wanted.positions or (None,)
        for advice in advise(wanted, unit.id, position, ledger, kit.gun, new)
    ]  # fmt: skip
    if as_json:
        say_document(advice_json(advices, kit.gun) | {"problems": [problem_row(found) for found in kit_problems]})
    else:
        say("\n\n".join([advice_text(advices, kit.gun), *(found.as_text() for found in kit_problems)]))
    refused = new is not None and any(not advice.verdict(c).may for advice in advices for c in advice.choices)
    return MADE_WITH_WARNINGS if refused or kit_problems else MADE


@tells_refusals
def grease_or_gun(
    folder: Path, item: str, with_lubricant: str | None, gun_file: Path | None, weighed: str | None, today: str | None,
    as_json: bool,
) -> int:  # fmt: skip
    """What goes into an item, or the weighing of the gun, which takes no item beside it."""
    if weighed is None:
        return grease(folder, item, with_lubricant, gun_file, today, as_json)
    refuse_idle("--weighed", {"ITEM": item, "--with": with_lubricant, "--gun": gun_file})
    return weigh_gun(folder, weighed, today, as_json)


@tells_refusals
def weigh_gun(folder: Path, weighed: str, today: str | None, as_json: bool) -> int:
    """Record what the gun gives a stroke, from strokes weighed on a scale."""
    from tripplan.files.kit_files import GUN as file_name
    from tripplan.files.kit_files import implausible, read_gun, write_gun

    day, (strokes, weighed_g) = day_of(today), read_weighing(weighed)
    if not folder.is_dir():
        origin = Origin(file=folder.name or str(folder))
        raise BadInput([problem("F01", origin, None, "no such folder", "a trip folder")])
    output_g = weighed_g / strokes
    if wrong := tuple(implausible(output_g, Origin(file="command line"), "--weighed")):
        raise BadInput(wrong)
    with folder_held(folder):
        before, _ = read_gun(folder / file_name)
        path = write_gun(folder, output_g, strokes, weighed_g, day)
    if as_json:
        told = {"g_per_stroke": round(output_g, 4), "strokes": strokes, "date": day.isoformat(), "file": path.name}
        say_document(told | {"before_g_per_stroke": before.g_per_stroke if before else None})
    else:
        change = f" It was {before.g_per_stroke:g} g on {before.date}." if before else ""
        say(f"{output_g:.4g} g a stroke, from {strokes:g} strokes; written to {path}.{change}")
    return MADE


def read_weighing(text: str) -> tuple[float, float]:
    """Strokes and grams from text such as 10=13.2g; kilograms are turned into grams."""
    match = WEIGHING.fullmatch(text)
    parts = match.groups() if match else ("", "", None)
    if not (PLAIN_NUMBER.fullmatch(parts[0]) and PLAIN_NUMBER.fullmatch(parts[1])):
        raise _refused("G17", "--weighed", text, WEIGHED_ACCEPTED)
    strokes, weight = float(parts[0]), float(parts[1])
    weight *= 1000.0 if (parts[2] or "g").lower() == "kg" else 1.0
    if weight <= 0 or not LEAST_STROKES <= strokes <= MOST_STROKES:
        found = f"{figure(strokes)} strokes giving {figure(weight)} g"
        accepted = f"{LEAST_STROKES:g} to {MOST_STROKES:g} full strokes and a weight above 0 g"
        hint = "prime the gun until grease comes without air, then weigh ten strokes"
        raise _refused("G18", "--weighed", found, accepted, hint)
    return strokes, weight


def _fault_problems(faults: Sequence[tuple[Cavity, str, ValueError]]) -> Iterator[Problem]:
    for row, name, error in faults:
        code = "G15" if name == "shaft_mm" else "G16"
        value, low, high = (getattr(error, part) for part in ("value", "low", "high"))
        unit = getattr(error, "unit", "")
        hint = "sizes in millimetres, inside diameter of the outer part first"
        yield problem(code, row.origin, name, f"{figure(value)} {unit}", f"{low:g} to {high:g} {unit}", hint)


def _refused(code: str, option: str, found: str, accepted: str, hint: str = "") -> BadInput:
    return BadInput([problem(code, Origin(file="command line"), option, found, accepted, hint)])
