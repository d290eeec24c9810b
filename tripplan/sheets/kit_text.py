"""What `tripplan kit` prints: the kit as a list to tick, its pieces by worth for their weight, and what is left out."""

import json
from collections.abc import Iterator

from tripplan.records.plain_words import so_much, upper_first
from tripplan.records.plan_kit import CarryKit, KitLeftOut, KitLine
from tripplan.sheets.plan_json import document_of
from tripplan.sheets.text_lines import TICK, wrap

MOST_LEFT_OUT = 12
NOT_ALL = (
    "Weights and shares are mostly our judgement: weigh your own parts. Tools, jacks, water, first aid and what the law "
    "asks for are not in this list. It saves standing; it makes no trip safe."
)


def kit_text(kit: CarryKit, trip: str) -> str:
    """The whole answer as text."""
    parts = (
        [f"Kit for {trip}: {kit.weight_kg:.1f} of {kit.most_kg:g} kg, {kit.volume_l:.1f} of {kit.most_litres:g} litres"],
        wrap(worth_of(kit)), ["", "To tick off"], [line for one in kit.lines for line in wrap(f"{amount_of(one)}: {told_of(one)}", TICK, "    ")] or ["  nothing"],
        _steps(kit), ["", "Left out"], _left_out(kit), [""], wrap(NOT_ALL),
    )  # fmt: skip
    return "\n".join(line for part in parts for line in part)


def kit_json(kit: CarryKit) -> str:
    """The same as JSON, field names as the record has them."""
    return json.dumps(document_of(kit), indent=2, ensure_ascii=False)


def worth_of(kit: CarryKit) -> str:
    """What the kit saves, and whether another could save more."""
    sure = (
        "No other choice within these limits saves more." if kit.is_exact else "Chosen by worth for weight; not proven."
    )
    return f"Of {kit.standing_hours_expected:.1f} h of standing to be expected as planned it saves {kit.saved_hours:.1f} h. {sure}"


def amount_of(line: KitLine) -> str:
    """How many and of what, with what goes with each."""
    return f"{count_of(line)}{beside_of(line)}"


def count_of(line: KitLine) -> str:
    """How many and of what."""
    if line.contingent:
        return upper_first(line.name) + (f", {line.count} times" if line.count > 1 else "")
    return so_much(line.count * line.quantity, line.unit_of_measure, line.name)


def beside_of(line: KitLine) -> str:
    """What goes with each, or what a set of materials holds."""
    if line.contingent:
        return f": {', '.join(line.beside)}"
    return f" ({'with' if line.count == 1 else 'each with'} {', '.join(line.beside)})" if line.beside else ""


def told_of(line: KitLine) -> str:
    """Weight, what it saves, what it is for, and where it comes from."""
    held = f"; {line.on_shelf:g} on the shelf, {line.to_get:g} to get" if line.on_shelf else ""
    sold = f"; more at {', '.join(dict.fromkeys(line.sold_at))}" if line.sold_at else ""
    what = "" if line.contingent else f"; for {', '.join(line.for_items)}; {line.fitting_hours:.1f} h to fit in a camp"
    return f"{_tenths(line.weight_kg)} kg, {_tenths(line.volume_l)} litres, saves {line.saved_hours:.2f} h{what}{held}{sold}"


def _tenths(amount: float) -> str:
    return "under 0.1" if 0 < amount < 0.05 else f"{amount:.1f}"


def _steps(kit: CarryKit) -> Iterator[str]:
    yield from ("", "By what each piece saves for its weight") if kit.steps else ()
    for step in kit.steps:
        again = f", number {step.number}" if step.number > 1 else ""
        told = f"{step.saved_hours_per_kg:8.2f} h/kg  {step.all_weight_kg:5.1f} kg  "
        yield from wrap(f"{step.name}{again}", told)


def left_out_of(one: KitLeftOut) -> str:
    """A part that is not taken, what one more of it would save, and why not."""
    weighs = (
        "" if one.weight_kg is None or one.volume_l is None else f", {one.weight_kg:.1f} kg, {one.volume_l:.1f} litres"
    )
    return f"{one.name}{weighs}: one more would save {one.saved_hours:.2f} h; {one.why}"


def _left_out(kit: CarryKit) -> Iterator[str]:
    for one in kit.left_out[:MOST_LEFT_OUT]:
        yield from wrap(left_out_of(one), "  ", "    ")
    if len(kit.left_out) > MOST_LEFT_OUT:
        yield f"  and {len(kit.left_out) - MOST_LEFT_OUT} more, that would save less"
    if not kit.left_out:
        yield "  nothing"
