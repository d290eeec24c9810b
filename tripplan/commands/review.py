"""`tripplan review`: what the owner's findings say of each item, and the real rates from readings."""

from datetime import date
from pathlib import Path
from typing import Any

from tripplan.commands.status import MADE, MADE_WITH_WARNINGS, day_of, tells_refusals
from tripplan.commands.terminal import say, say_document
from tripplan.due.findings import EvidenceSwitch, ItemLife, may_use, sentences
from tripplan.files.folder import Inputs, load
from tripplan.files.plan_folder import lives_of, read_switches
from tripplan.records.catalogue import EVIDENCE_FILE, Catalogue
from tripplan.records.lookups import without_duplicates
from tripplan.records.problems import BadInput, stops
from tripplan.sheets import words
from tripplan.wear.rates_from_readings import Rate, read_rates

HOW_TO_SWITCH = f"""\
To let plans use what was found of an item, put a line for it into {EVIDENCE_FILE} beside rig.toml:
    item,use,reason
    propshaft_ujoints,yes,
Items that safety hangs on need the reason too; without it they stay as the table says."""


@tells_refusals
def review(folder: Path, today: str | None, as_json: bool) -> int:
    """List what findings say about intervals, and the rates that readings tell."""
    day = day_of(today)
    inputs, catalogue, problems = load(folder, day)
    if inputs is None:
        raise BadInput(problems)
    switches, more = read_switches(folder, catalogue)
    problems += more
    if stops(problems):
        raise BadInput(problems)
    lives = lives_of(inputs, catalogue, day)
    rates = rates_of(inputs, day)
    if as_json:
        say_document(_document(lives, rates, switches, catalogue))
    else:
        say(_text(lives, rates, switches, catalogue))
    return MADE_WITH_WARNINGS if problems else MADE


def rates_of(inputs: Inputs, today: date) -> tuple[Rate, ...]:
    """What the readings tell of every unit's rates."""
    return read_rates(inputs.rig, without_duplicates(inputs.history), inputs.trip, today)


def _used(life: ItemLife, switches: tuple[EvidenceSwitch, ...], catalogue: Catalogue) -> bool:
    item = catalogue.item(life.item)
    return bool(life.counted) and any(may_use(item, switch) for switch in switches if switch.item == life.item)


def _text(
    lives: tuple[ItemLife, ...], rates: tuple[Rate, ...], switches: tuple[EvidenceSwitch, ...],
    catalogue: Catalogue,
) -> str:  # fmt: skip
    lines = ["What was found when it was opened"]
    for life in lives:
        unit_of_measure = words.meter(life.meter)
        lines += ["", f"{life.name} ({life.item})"]
        lines += [f"    {sentence}" for sentence in sentences(life, unit_of_measure)]
        if life.counted:
            safe = words.figure(float(f"{life.safe:.3g}"))
            lines.append(
                f"    With 19 chances in 20 the interval is above {safe} {unit_of_measure}; "
                f"of 100 such parts {life.chance * 100:.0f} last the table's."
            )
            used = _used(life, switches, catalogue)
            lines.append(f"    {'Used in plans' if used else 'Not used in plans'} ({EVIDENCE_FILE}).")
    lines += ["", HOW_TO_SWITCH] if lives else ["    No finding is in the history yet."]
    lines += ["", "Rates from the readings"]
    lines += [line for rate in rates for line in _rate_lines(rate)]
    lines += ["", "The maker's manual comes first; findings move an interval only within stated bounds."]
    return words.printable("\n".join(lines))


def _rate_lines(rate: Rate) -> list[str]:
    stated = "gives none" if rate.stated is None else f"says {words.figure(rate.stated)}"
    if rate.measured is None:
        return [f"    {rate.unit}: {rate.key}: rig.toml {stated}, and that is used: {rate.reason}."]
    spread = f"{rate.low:.0f} to {rate.high:.0f} in the stretches between"
    used = f"used in plans; rig.toml {stated}" if rate.used else f"not used: rig.toml {stated} and keeps it"
    return [f"    {rate.unit}: {rate.key} = {rate.measured:.0f} ({used})", f"        {rate.reason}; {spread}."]


def _document(
    lives: tuple[ItemLife, ...], rates: tuple[Rate, ...], switches: tuple[EvidenceSwitch, ...],
    catalogue: Catalogue,
) -> dict[str, Any]:  # fmt: skip
    rows = [_life_row(life, _used(life, switches, catalogue)) for life in lives]
    suggested = [
        {"unit": r.unit, "key": r.key, "stated": r.stated, "measured": r.measured, "low": r.low, "high": r.high,
         "used_in_plans": r.used, "reason": r.reason, "origins": [str(origin) for origin in r.origins]}
        for r in rates
    ]  # fmt: skip
    return {"items": rows, "rates": suggested}


def _life_row(life: ItemLife, used: bool) -> dict[str, Any]:
    return {
        "item": life.item, "meter": life.meter, "interval": life.interval, "revised": life.revised,
        "findings_alone": life.alone, "moved": life.moved, "safe": life.safe, "chance": life.chance,
        "used_in_plans": used, "sentences": list(sentences(life, words.meter(life.meter))),
        "openings": [
            {"unit": one.unit, "position": one.position, "date": one.row.date.isoformat(), "finding": one.row.finding,
             "good_at": one.low, "worn_by": one.high, "left_out": one.left_out, "prompted": one.prompted,
             "origin": str(one.row.origin)}
            for one in life.openings
        ],
    }  # fmt: skip
