"""`worksheet.html`: one self-contained page for the person doing the work.

The template only places words; what they are and in which order comes from here and from
`work_order`. Nothing is asked of a network, and no script is needed.
"""

from functools import cache

from jinja2 import Template
from markupsafe import Markup
from msgspec import Struct

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan, Total
from tripplan.records.words import SlotKind
from tripplan.sheets import words
from tripplan.sheets.escaped import templates
from tripplan.sheets.grease_notes import Notes, grease_notes
from tripplan.sheets.materials import grades
from tripplan.sheets.pictures.hours_curve import hours_curve_svg
from tripplan.sheets.pictures.map import route_map_svg
from tripplan.sheets.pictures.trip_line import trip_line_pictures
from tripplan.sheets.pictures.trip_strip import trip_strip_svg
from tripplan.sheets.pictures.wear_profile import wear_profile_svg
from tripplan.sheets.risk_text import home_words
from tripplan.sheets.route_places import Places
from tripplan.sheets.worksheet import buying, job_words, paper, wall, work_order
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import water as sheet_water
from tripplan.sheets.worksheet.work_blocks import SlotSheet, slot_sheet

COST_NOTE = "Cost counts hours of work and what being late may cost, in the money of trip.toml; materials are the same each way."
NOWHERE = Places(lines={}, marks=(), unplaced=())


class Station(Struct, frozen=True, kw_only=True):
    """One mark on the track line down the margin: a slot, or a plain milestone without one."""

    kind: str
    title: str
    day: str
    key: str = ""
    sheet: SlotSheet | None = None
    is_road: bool = False

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
        wall=wall,
        jobs=job_words,
        buying=buying,
        breaks=breaks(plan, notes),
        strip=Markup(trip_strip_svg(plan)),
        remember=wall.remember(plan),
        undone=wall.not_done(plan),
        errands=buying.errands(plan),
        home_needs=buying.after_return(plan),
        costs=buying.costs(plan),
        morning_words=job_words.morning_words(plan),
        looks=job_words.looks(plan),
        signs=job_words.signs(plan),
        proven=words.proven(plan.totals.gap),
        waits=wall.waits_behind(plan),
        COST_NOTE=COST_NOTE,
        notes=notes,
        counts=work_order.verdict_counts(plan),
        on_the_way=sheet_lists.on_the_way(plan),
        windows=sheet_water.windows(plan),
        met=sheet_water.windows(sheet_water.met(plan, True)),
        water=sheet_water,
        grades=grades(job for slot in plan.slots for job in slot.jobs),
        on_the_road=wall.halts(plan),
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
    return templates("tripplan.sheets", "templates").get_template("worksheet.html.j2")


def stations(plan: Plan) -> tuple[Station, ...]:
    """Slots in the order of time, with the departure and the return between them."""
    depart = Station(kind="milestone", title="Departure", day=words.day(plan.depart), is_road=True)
    return_ = Station(kind="milestone", title="Return", day=words.day(plan.return_))
    found = grouped(
        (slot.kind, Station(
            kind=slot.kind, title=work_order.slot_title(slot), day=words.day(slot.date), key=f"slot{number}",
            sheet=slot_sheet(slot, plan.walkround_minutes, work_order.has_units(plan)),
        ))
        for number, slot in enumerate(plan.slots, 1)
    )  # fmt: skip
    workshop, stop, after = (found.get(kind, []) for kind in SlotKind)
    return (*workshop, depart, *stop, return_, *after)


def breaks(plan: Plan, notes: Notes) -> dict[str, str]:
    """How each station meets the edge of a sheet: on its `own`, kept whole as `small`, or running on.

    What would run over by a few lines is set `close`, so that no sheet is turned for them.
    Every day at home begins on paper of its own, and a stop that fills much of a sheet and no more. The road (its
    key is empty) does too, unless the first page (`wall`) leaves room for it.
    """
    sheets = {station.key: station.sheet for station in stations(plan) if station.sheet}
    shares = {key: paper.day_share(plan, sheet, notes) for key, sheet in sheets.items()}
    kinds = {
        key: "" if not (sheet.slot.jobs or sheet.slot.opened)
        else "own" if sheet.slot.kind != "stop" or paper.OWN_SHEET < shares[key] <= paper.JUST_OVER[1]
        else "small" if shares[key] <= paper.OWN_SHEET else ""
        for key, sheet in sheets.items()
    }  # fmt: skip
    kinds = {key: f"{kind} close" if paper.is_just_over(shares[key]) else kind for key, kind in kinds.items()}
    days = [
        " ".join(f"{act} {', '.join(things)}." for act, things in wall.wall_jobs(plan, sheet)) + " " * 40
        for sheet in sheets.values() if sheet.slot.jobs
    ]  # fmt: skip
    others = (*wall.remember(plan), *wall.not_done(plan), *(", ".join(one.things) for one in buying.errands(plan)))
    share = paper.wall_share(days, others)
    road, first = "own" if share > paper.SHORT_WALL else "", "close" if paper.is_close_wall(share) else ""
    return {**kinds, "": road, "wall": first}


def ways(plan: Plan) -> tuple[tuple[str, Total], ...]:
    """This plan beside the other ways of placing the same work."""
    totals = plan.totals
    return (
        ("This plan", totals.plan),
        ("The plain rule: first fitting slot", totals.greedy),
        ("Every item on its own", totals.each_alone),
        ("Everything before departure", totals.all_before),
    )
