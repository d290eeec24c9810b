"""What `tripplan why` prints: every history row and table row behind one item's verdict."""

import json
from collections.abc import Iterable, Sequence

from tripplan.explain.reasons import amount
from tripplan.files.append import HISTORY_COLUMNS
from tripplan.files.folder import Inputs
from tripplan.records.catalogue import Catalogue, Item, Sourced
from tripplan.records.facts_in import HistoryRow, Origin
from tripplan.records.grouped import grouped
from tripplan.records.lookups import resolve_item
from tripplan.records.plain_words import day_and_month
from tripplan.records.plan import Factor, Plan, PlanItem, Wear
from tripplan.records.plan_work import PlanCrossing, WaterAct
from tripplan.sheets.numbers_text import cell
from tripplan.sheets.plan_json import document_of, plan_dict
from tripplan.sheets.words import sentence
from tripplan.sheets.worksheet.work_order import verdict_words


def why_text(plan: Plan, item: Item, inputs: Inputs, catalogue: Catalogue) -> str:
    """The verdict of each position, its reasons, and the rows themselves quoted underneath."""
    found = [entry for entry in plan.items if entry.item == item.id]
    left = _left_out(item, inputs)
    if not found and not left:
        needs = ", ".join(map(str, item.needs)) or item.unit_kind
        return f"{item.name} ({item.id}) is not on this rig: it needs {needs}."
    lines = [f"{item.name} ({item.id}), as seen on {plan.today}", if_it_fails(item), ""]
    lines += [*left, ""] if left else []
    for entry in found:
        lines += [*_entry(entry, plan), ""]
    if asked := _asked_by_water(plan, item):
        lines += ["Asked for by water", *(_water_words(plan, *one) for one in asked), ""]
    origins = [origin for entry in found for origin in _origins(entry)] + _water_origins(asked)
    origins += _left_out_origins(item, inputs, catalogue) if left else []
    lines += ["Rows behind this", *rows_behind(origins, inputs, catalogue), ""]
    if gone := struck_out(item, inputs, catalogue):
        lines += ["Struck out, so not counted", *gone, ""]
    lines.append(plan.product_rule)
    return "\n".join(lines)


def if_it_fails(item: Item) -> str:
    """What a failure does, whether it can harm, and how much of the time to help it costs."""
    harm = f"can harm somebody: {item.harms_by}" if item.harms else "harms nobody"
    cost = f"costs {item.strands:g} of the time to help"
    return (
        f"If it fails: {item.if_it_fails}. It {harm}; it {cost} ({item.failure_basis}, source {item.failure_source})."
    )


def why_json(plan: Plan, item: Item, inputs: Inputs, catalogue: Catalogue) -> str:
    """The same as JSON: the plan's items of that id and the quoted rows."""
    entries = [entry for entry in plan.items if entry.item == item.id]
    listed = [row for row in plan_dict(plan)["items"] if row["item"] == item.id]
    asked, left = _asked_by_water(plan, item), _left_out(item, inputs)
    origins = [origin for entry in entries for origin in _origins(entry)] + _water_origins(asked)
    origins += _left_out_origins(item, inputs, catalogue) if left else []
    rows = rows_behind(origins, inputs, catalogue)
    water = [
        {"leg": crossing.leg, "trip_km": crossing.trip_km, "date": crossing.date.isoformat(), **document_of(act)}
        for crossing, act in asked
    ]
    told = {
        "items": listed,
        "left_out": [one.strip() for one in left],
        "water": water,
        "rows": rows,
        "struck_out": struck_out(item, inputs, catalogue),
    }
    return json.dumps({**told, "product_rule": plan.product_rule}, indent=2, ensure_ascii=False)


def _entry(entry: PlanItem, plan: Plan) -> list[str]:
    side = f", {entry.position}" if entry.position else ""
    lines = [f"{entry.unit}{side}: {verdict_words(plan, entry)}"]
    for reason in entry.reasons:
        rows = ", ".join(dict.fromkeys(str(origin) for origin in reason.origins))
        lines.append(f"  {reason.text}" + (f"  [{rows}]" if rows else ""))
    for wear in entry.wear:
        if wear.parts or wear.water:
            lines.append(
                f"  leg {wear.leg} {wear.meter}: {amount(wear.use)} x {wear.multiplier:.2f} "
                f"(low {wear.low:.2f}, high {wear.high:.2f}) = {amount(wear.use * wear.multiplier)}, "
                f"with reserve it adds {amount(wear.reserve)}; {sum_words(wear.parts)}{_water(wear)}"
            )
    return lines + _risk(entry)


def _left_out(item: Item, inputs: Inputs) -> list[str]:
    """On which units the owner leaves it out, with the word for it and the row; nothing where it is planned."""
    rows = ", ".join(map(str, item.left_out_rows))
    return [
        f"{unit.id}: left out of every plan, {item.left_out_on(unit)}  [{rows}]"
        for unit in inputs.rig.units if item.left_out_on(unit) and item.belongs_to(unit)
    ]  # fmt: skip


def _left_out_origins(item: Item, inputs: Inputs, catalogue: Catalogue) -> list[Origin]:
    """The rows that leave it out, and all that is on record of it."""
    own = [row.origin for row in inputs.history if row.item and resolve_item(catalogue, row.item) == item]
    return [*item.left_out_rows, *own]


def _asked_by_water(plan: Plan, item: Item) -> list[tuple[PlanCrossing, WaterAct]]:
    """What crossings call for at this item, each with its crossing, in the order of the trip."""
    return [(crossing, act) for crossing in plan.crossings for act in crossing.acts if act.item == item.id]


def _water_words(plan: Plan, crossing: PlanCrossing, act: WaterAct) -> str:
    """One act after water: what, by when, which crossing calls for it, where it is done, and the rows."""
    slot = next((slot for slot in plan.slots if slot.id == act.slot), None)
    where = f"{slot.place}, {day_and_month(slot.date)}" if slot else "no place of its own in the plan"
    side = f", {act.position}" if act.position else ""
    by = f"crossing of leg {crossing.leg} at trip km {crossing.trip_km:.0f}, {day_and_month(crossing.date)}"
    rows = ", ".join(map(str, dict.fromkeys((*act.origins, crossing.origin))))
    return f"  {act.unit}{side}: {act.said_act} ({act.window}), {by}: {where}. {sentence(act.look_for)}  [{rows}]"


def _water_origins(asked: Iterable[tuple[PlanCrossing, WaterAct]]) -> list[Origin]:
    return [origin for crossing, act in asked for origin in (*act.origins, crossing.origin)]


def _risk(entry: PlanItem) -> list[str]:
    """What the trip risks by this item, and the numbers its law was read from."""
    risk = entry.risk
    if risk is None:
        return []
    stops, hours = risk.stops_expected, risk.standing_hours_expected
    rows = ", ".join(dict.fromkeys(str(origin) for origin in risk.origins))
    return [
        f"  on this trip {stops.plan:.4f} stops and {hours.plan:.2f} h of standing are expected of it as planned, "
        f"{stops.nothing_done:.4f} and {hours.nothing_done:.2f} h with nothing done, "
        f"{stops.all_before:.4f} and {hours.all_before:.2f} h with everything done before",
        f"  its law: {risk.failures_per_interval:.4f} failures in one interval kept at home = act {risk.act_price:.2f} / "
        f"({risk.power:g} - 1) / failure {risk.failure_price:.2f}; they grow with the share used to the power "
        f"{risk.power:g}, and {risk.stops_share:g} of them stop the rig  [{rows}]",
    ]


def sum_words(parts: Sequence[Factor]) -> str:
    """The rule with its numbers: 1 + (1.30 dust light - 1) + (1.26 surface gravel x 1.75 corrugation moderate - 1)."""
    groups = grouped(
        (part.mechanism, f"{part.multiplier:.2f} {part.condition} {part.grade} ({part.basis})") for part in parts
    )
    return " + ".join(["1", *(f"({' x '.join(own)} - 1)" for own in groups.values())])


def _water(wear: Wear) -> str:
    """What the crossings of a leg add, once."""
    if not wear.water:
        return ""
    told = ", ".join(f"{part.grade} x{part.multiplier:.2f} ({part.basis})" for part in wear.water)
    return f"; crossings add {amount(wear.water_use)} once: {told}"


def _origins(entry: PlanItem) -> list[Origin]:
    found = [origin for reason in entry.reasons for origin in reason.origins]
    found += entry.risk.origins if entry.risk else ()
    return found + [part.origin for wear in entry.wear for part in (*wear.parts, *wear.water)]


def rows_behind(origins: Iterable[Origin], inputs: Inputs, catalogue: Catalogue) -> list[str]:
    """Each row once, quoted as it stands, with its source where it is a table row."""
    index = _row_index(inputs, catalogue)
    unique = sorted(dict.fromkeys(origins), key=lambda o: (o.file, o.row or 0))
    return [f"  {origin}: {index.get((origin.file, origin.row), '')}".rstrip(": ") for origin in unique]


def struck_out(item: Item, inputs: Inputs, catalogue: Catalogue) -> list[str]:
    """History rows of that item that were struck out, with the word why."""
    rows = [row for row in inputs.undone if row.item and resolve_item(catalogue, row.item) == item]
    return [f"  {row.origin}: {_history(row)} ({row.undone})" for row in rows]


def sources_behind(origins: Iterable[Origin], catalogue: Catalogue) -> frozenset[str]:
    """Ids of the sources that the table rows among these name."""
    asked = set(origins)
    return frozenset(row.source for table in _tables(catalogue) for row in table if row.origin in asked)


def _tables(catalogue: Catalogue) -> tuple[Sequence[Sourced], ...]:
    """The tables whose rows stand behind numbers of a plan."""
    return catalogue.items, catalogue.multipliers, catalogue.grades, catalogue.water_rules, catalogue.assumptions


def _row_index(inputs: Inputs, catalogue: Catalogue) -> dict[tuple[str, int | None], str]:
    index = {(row.origin.file, row.origin.row): _history(row) for row in inputs.history}
    for leg in (*inputs.trip.legs, *inputs.trip.earlier_legs):
        text = f"leg {leg.leg} {leg.from_} to {leg.to}, {leg.distance_km:g} km at {leg.speed_kmh:g} km/h"
        index[(leg.origin.file, leg.origin.row)] = text
    for item in catalogue.items:
        for (unit, words), origin in zip(item.left_out, item.left_out_rows, strict=True):
            index[(origin.file, origin.row)] = " | ".join(filter(None, (item.id, unit, words)))
    for one in inputs.trip.crossings:
        text = f"leg {one.leg}, km {one.at_km:g}, {one.depth_m:g} m of {one.water} water"
        index[(one.origin.file, one.origin.row)] = text
    for table in _tables(catalogue):
        index |= {(row.origin.file, row.origin.row): _table_row(row) for row in table}
    return index


def _history(row: HistoryRow) -> str:
    values = (getattr(row, name) for name in HISTORY_COLUMNS)
    return " | ".join(cell(value) for value in values if value is not None)


def _table_row(row: Sourced) -> str:
    skipped = {"origin", "basis", "source", "locator", "cautions", "early_signs", "consumables"}
    facts = [f"{k}={cell(v)}" for k, v in row if k not in skipped and v not in (None, (), "")]
    where = f", {row.locator}" if row.locator else ""
    return f"{' '.join(facts)}; basis {row.basis}, source {row.source}{where}"
