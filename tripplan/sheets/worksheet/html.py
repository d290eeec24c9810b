"""`worksheet.html`: one self-contained page for the person doing the work.

The template only places words; what they are and in which order comes from here and from
`work_order`. Nothing is asked of a network, and no script is needed.
"""

from dataclasses import dataclass
from functools import cache, partial

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from tripplan.records.plan import NO_RECORD, Plan, Total
from tripplan.records.plan_work import Slot
from tripplan.records.words import SlotKind
from tripplan.sheets import words
from tripplan.sheets.grease_notes import grease_notes
from tripplan.sheets.materials import grades
from tripplan.sheets.pictures.hours_curve import hours_curve_svg
from tripplan.sheets.pictures.map import route_map_svg
from tripplan.sheets.pictures.trip_line import trip_line_pictures
from tripplan.sheets.pictures.wear_profile import wear_profile_svg
from tripplan.sheets.risk_text import home_words
from tripplan.sheets.route_places import Places
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.waits import waits
from tripplan.sheets.worksheet.work_blocks import SlotSheet, details, slot_sheet

NOWHERE = Places(lines={}, marks=(), unplaced=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """One mark on the track line down the margin: a slot, or a plain milestone without one."""

    kind: str
    title: str
    day: str
    key: str = ""
    sheet: SlotSheet | None = None

    @property
    def short(self) -> str:
        """Day and place in a few words: Sat 6 Jun, workshop day, home."""
        when = self.sheet.slot.date if self.sheet else None
        day = f"{words.WEEKDAYS[when.weekday()]} {words.short_day(when)}" if when else self.day
        return f"{day}, {self.title[:1].lower()}{self.title[1:]}"


def worksheet_html(plan: Plan, places: Places | None = None) -> str:
    """The whole page as text; every word of the plan in it is escaped.

    `places` are those of the plan on the map; without any position the sheet says so in a line.
    """
    placed = places or NOWHERE
    notes = grease_notes(plan)
    return _template().render(
        plan=plan,
        say=words,
        order=work_order,
        lists=sheet_lists,
        stations=stations(plan),
        details=partial(details, notes=notes),
        notes=notes,
        waits=waits(plan),
        counts=work_order.verdict_counts(plan),
        due=sheet_lists.due_together(plan),
        on_the_way=sheet_lists.on_the_way(plan),
        windows=sheet_water.windows(plan),
        water=sheet_water,
        grades=grades(job for slot in plan.slots for job in slot.jobs),
        on_the_road=sheet_lists.on_the_road(plan),
        lasting=sheet_lists.lasting_groups(plan),
        walk_round_minutes=plan.walkround_minutes,
        wide=[Markup(picture) for picture in trip_line_pictures(plan)],
        narrow=[Markup(picture) for picture in trip_line_pictures(plan, narrow=True)],
        map_wide=_markup(route_map_svg(plan, placed)),
        map_narrow=_markup(route_map_svg(plan, placed, narrow=True)),
        off_map=off_map(plan, placed),
        curve_wide=_markup(hours_curve_svg(plan)),
        curve_narrow=_markup(hours_curve_svg(plan, narrow=True)),
        home=home_words(plan.risk) if plan.risk and plan.risk.legs else (),
        profile_wide=Markup(wear_profile_svg(plan)),
        profile_narrow=Markup(wear_profile_svg(plan, narrow=True)),
        slot_names={slot.id: work_order.slot_name(slot) for slot in plan.slots},
        no_record=NO_RECORD,
        main_unit=work_order.main_unit(plan),
        ways=ways(plan),
    )


def _markup(picture: str | None) -> Markup | None:
    return None if picture is None else Markup(picture)


def off_map(plan: Plan, places: Places) -> str:
    """One sentence on what is not on the map and what would put it there; empty where all is."""
    legs = [str(leg.number) for leg in plan.legs if leg.number not in places.lines]
    remedy = "a track, or the four columns from_lat to to_lon, in legs.csv puts a leg on the map"
    if not places.lines and not places.marks:
        return f"No map, since no leg and no stop has a position: {remedy}."
    if legs:
        return f"Not on the map: {'leg' if len(legs) == 1 else 'legs'} {', '.join(legs)}; {remedy}."
    return ""


@cache
def _template() -> Template:
    loader = PackageLoader("tripplan.sheets", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["clean"] = words.printable
    return environment.get_template("worksheet.html.j2")


def stations(plan: Plan) -> tuple[Station, ...]:
    """Slots in the order of time, with the departure and the return between them."""
    depart = Station(kind="milestone", title="Departure", day=words.day(plan.depart))
    return_ = Station(kind="milestone", title="Return", day=words.day(plan.return_))
    keys = {slot.id: f"slot{number}" for number, slot in enumerate(plan.slots, 1)}
    workshop, stop, after = (
        [_station(slot, keys[slot.id], plan.walkround_minutes) for slot in plan.slots if slot.kind == kind]
        for kind in SlotKind
    )
    return (*workshop, depart, *stop, return_, *after)


def _station(slot: Slot, key: str, walkround_minutes: float) -> Station:
    return Station(
        kind=slot.kind, title=work_order.slot_title(slot), day=words.day(slot.date), key=key,
        sheet=slot_sheet(slot, walkround_minutes),
    )  # fmt: skip


def ways(plan: Plan) -> tuple[tuple[str, Total], ...]:
    """This plan beside the other ways of placing the same work."""
    totals = plan.totals
    return (
        ("This plan", totals.plan),
        ("The plain rule: first fitting slot", totals.greedy),
        ("Every item on its own", totals.each_alone),
        ("Everything before departure", totals.all_before),
    )
