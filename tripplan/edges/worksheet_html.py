"""`worksheet.html`: one self-contained page for the person doing the work.

The template only places words; what they are and in which order comes from here and from
`work_order`. Nothing is asked of a network, and no script is needed.
"""

from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from tripplan.edges import say, sheet_lists, work_order
from tripplan.edges.trip_line import trip_line_pictures
from tripplan.edges.work_blocks import SlotSheet, details, slot_sheet
from tripplan.plan import NO_RECORD, Plan, Slot, Total


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One mark on the track line down the margin: a slot, or a plain milestone without one."""

    kind: str
    title: str
    day: str
    key: str = ""
    sheet: SlotSheet | None = None


def worksheet_html(plan: Plan) -> str:
    """The whole page as text; every word of the plan in it is escaped."""
    return _template().render(
        plan=plan,
        say=say,
        order=work_order,
        lists=sheet_lists,
        stations=stations(plan),
        details=details,
        wide=[Markup(picture) for picture in trip_line_pictures(plan)],
        narrow=[Markup(picture) for picture in trip_line_pictures(plan, narrow=True)],
        slot_names={slot.id: work_order.slot_name(slot) for slot in plan.slots},
        no_record=NO_RECORD,
        main_unit=work_order.main_unit(plan),
        ways=ways(plan),
    )


@cache
def _template() -> Template:
    loader = PackageLoader("tripplan.edges", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["clean"] = say.printable
    return environment.get_template("worksheet.html.j2")


def stations(plan: Plan) -> tuple[Station, ...]:
    """Slots in the order of time, with the departure and the return between them."""
    depart = Station(kind="milestone", title="Departure", day=say.day(plan.depart))
    return_ = Station(kind="milestone", title="Return", day=say.day(plan.return_))
    keys = {slot.id: f"slot{number}" for number, slot in enumerate(plan.slots, 1)}
    workshop, stop, after = (
        [_station(slot, keys[slot.id]) for slot in plan.slots if slot.kind == kind]
        for kind in ("workshop", "stop", "after")
    )
    return (*workshop, depart, *stop, return_, *after)


def _station(slot: Slot, key: str) -> Station:
    return Station(
        kind=slot.kind, title=work_order.slot_title(slot), day=say.day(slot.date), key=key,
        sheet=slot_sheet(slot),
    )


def ways(plan: Plan) -> tuple[tuple[str, Total], ...]:
    """This plan beside the other ways of placing the same work."""
    totals = plan.totals
    return (
        ("This plan", totals.plan),
        ("The plain rule: first fitting slot", totals.greedy),
        ("Every item on its own", totals.each_alone),
        ("Everything before departure", totals.all_before),
    )
