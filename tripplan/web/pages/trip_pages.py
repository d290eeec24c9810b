"""What is read: one function a page. Nothing is worked out here; the plan and the edges are asked."""

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup, escape
from msgspec import Struct

from tripplan.files.days_on_paper import unrecorded
from tripplan.files.demos import DEMOS
from tripplan.files.folder import Inputs
from tripplan.files.new_toml import HEIGHTS, TRAILER_HEIGHTS
from tripplan.files.plan_file import issued_plan, place_of
from tripplan.records.catalogue import Catalogue, Item, Source
from tripplan.records.facts_in import Finding, Origin, Water
from tripplan.records.lookups import resolve_item
from tripplan.records.plan import TRIP_OVER, VERDICTS, Plan, PlanItem
from tripplan.records.words import LeftOutAs, WarningKind
from tripplan.sheets import field_text
from tripplan.sheets.pictures.trip_line import trip_line_pictures
from tripplan.sheets.why_text import rows_behind, sources_behind
from tripplan.sheets.worksheet import lists as sheet_lists
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.html import stations
from tripplan.sheets.worksheet.waits import waits
from tripplan.web.access.security import Access
from tripplan.web.forms import first_visit
from tripplan.web.forms.fields import closing_field, crossing_field
from tripplan.web.forms.slips import by_place, slips_of
from tripplan.web.forms.trip_form import trip_form
from tripplan.web.open_trip import Desk
from tripplan.web.pages import day_work, water
from tripplan.web.pages.drawing import route_picture
from tripplan.web.pages.render import page, square_code
from tripplan.web.saves.memory import Memory, read_memory
from tripplan.web.saves.saving import PLAIN, Seen

routes = APIRouter(default_response_class=HTMLResponse)
OF_PLACES = frozenset((
    WarningKind.FOUND_BAD, WarningKind.NO_PLACE, WarningKind.UNSEEN, WarningKind.WATER_UNPLACED, WarningKind.PARTS_LATE,
))  # fmt: skip


def desk_of(request: Request) -> Desk:
    """The folder this page is about."""
    desk: Desk = request.app.state.desk
    return desk


def planned(request: Request) -> tuple[Seen, Plan]:
    """The folder with its plan; raises NotPlanned where there is none, which shows its problems."""
    seen = desk_of(request).see()
    if seen.plan is None:
        raise NotPlanned(seen)
    return seen, seen.plan


class NotPlanned(Exception):
    """The folder cannot be planned as it is."""

    def __init__(self, seen: Seen) -> None:
        self.seen = seen
        super().__init__("the folder cannot be planned")


@routes.get("/")
def home(request: Request) -> Response:
    """The trip line, what comes first, and the days."""
    if desk_of(request).is_new:
        return RedirectResponse("/start", 303)
    seen, plan = planned(request)
    return page(
        request, "home.html.j2", title=plan.trip, seen=seen, plan=plan,
        wide=[Markup(picture) for picture in trip_line_pictures(plan)],
        way=Markup(route_picture(plan)), read_first=read_first(seen, plan),
        to_look_at=[(f"{slip.label}.", slip.said) for slip in slips_of(plan.problems)],
        narrow=[Markup(picture) for picture in trip_line_pictures(plan, narrow=True)],
        counts=work_order.verdict_counts(plan), waits=waits(plan), stations=stations(plan),
        due=work_order.due(plan), on_the_way=work_order.on_the_way(plan), lists=sheet_lists,
        ticks=read_memory(desk_of(request).folder), next=next_day(plan, read_memory(desk_of(request).folder)),
    )  # fmt: skip


def read_first(seen: Seen, plan: Plan) -> list[tuple[str, str]]:
    """What is to be known before anything else: warnings, then ways out.

    While the search is on, what hangs on where the quick plan placed work is held back: the plan that is searched
    for may place it elsewhere, and tells its own.
    """
    is_searching = seen.answer == PLAIN
    kinds = {kind for kind in WarningKind if kind != TRIP_OVER and not (is_searching and kind in OF_PLACES)}
    told = [("Warning.", warning.text) for warning in plan.warnings if warning.kind in kinds]
    return told if is_searching else [*told, *(("Way out.", str(way)) for way in plan.ways_out)]


def next_day(plan: Plan, memory: Memory) -> day_work.DayPage | None:
    """The first day, from today on, that has work left; else the first with any."""
    days = [day_work.day_of(plan, slot, memory.ticks(slot.id)) for slot in day_work.has_work(plan)]
    left = [day for day in days if day.minutes_left > 0]
    return next((day for day in left if day.slot.date >= plan.today), next(iter(left), None))


@routes.get("/start")
def start(request: Request) -> Response:
    """The first visit: a demo, or the rig in a short form."""
    return start_page(request, {}) if desk_of(request).is_new else RedirectResponse("/", 303)


def start_page(request: Request, form: dict[str, str], problems: Sequence[Any] = (), status: int = 200) -> HTMLResponse:
    """The form of the first visit, with what was typed."""
    from zoneinfo import available_timezones

    slips = slips_of(problems, first_visit.field_of)
    return page(
        request, "start.html.j2", status, title="A new trip folder", slips=slips, wrong=by_place(slips), demos=DEMOS,
        typed=first_visit.shown_answers(form), parts=first_visit.form_parts(), heights=HEIGHTS,
        trailer_heights=TRAILER_HEIGHTS, zones=sorted(available_timezones()),
        folder=desk_of(request).folder.name, picture=Markup(water.blank_view()),
    )  # fmt: skip


@routes.get("/begun")
def begun(request: Request) -> Response:
    """What comes next with a folder just made."""
    if desk_of(request).is_new:
        return RedirectResponse("/start", 303)
    return page(request, "begun.html.j2", title="A folder of your own", steps=first_visit.NEXT_STEPS)


@routes.get("/trip")
def trip(request: Request) -> Response:
    """Legs, crossings, stops and shed days as tables to be edited in place."""
    return trip_page(request)


def trip_page(request: Request, status: int = 200, **given: Any) -> HTMLResponse:
    """The trip as `trip_form` tells it: as it is, or as it was typed and what was refused of that."""
    return page(request, "trip.html.j2", status, **trip_form(desk_of(request), **given))


@routes.get("/jobs")
def work(request: Request) -> Response:
    """The days with work."""
    seen, plan = planned(request)
    kept = read_memory(desk_of(request).folder)
    days = [day_work.day_of(plan, slot, kept.ticks(slot.id)) for slot in day_work.has_work(plan)]
    known = {slot.id for slot in plan.slots}
    issued = issued_plan(place_of(desk_of(request).folder) or desk_of(request).folder)
    on_paper = unrecorded(seen.inputs, issued, seen.today) if seen.inputs else ()
    lost = {name: own for name, own in kept.days.items() if name not in known and own}
    return page(request, "work.html.j2", title="Work", seen=seen, plan=plan, days=days, lost=lost, on_paper=on_paper)


@routes.get("/jobs/{slot}")
def work_day(request: Request, slot: str) -> Response:
    """One day's work, to be ticked off."""
    return work_page(request, slot)


def work_page(
    request: Request, name: str, clashes: Sequence[Any] = (), problems: Sequence[Any] = (), status: int = 200,
    typed: dict[str, str] | None = None,
) -> HTMLResponse:  # fmt: skip
    """One day's work, with what another tab entered meanwhile, or what was refused."""
    seen, plan = planned(request)
    slot = day_work.slot_named(plan, name)
    if slot is None:
        raise HTTPException(404, "no such day in this plan")
    day = day_work.day_of(plan, slot, read_memory(desk_of(request).folder).ticks(name))
    vehicle = seen.inputs.rig.vehicle.id if seen.inputs else ""
    slips = slips_of(problems, closing_field)
    return page(
        request, "work_day.html.j2", status, title=work_order.slot_title(slot), seen=seen, plan=plan, day=day,
        findings=tuple(Finding), clashes=clashes, slips=slips, wrong=by_place(slips), vehicle=vehicle, typed=typed or {},
        read_today=day_work.odometer_read(seen.inputs.history, vehicle, seen.today) if seen.inputs else "",
    )  # fmt: skip


@routes.get("/water")
def after_water(request: Request, depth: str = "", leg: str = "") -> Response:
    """Three questions after a crossing, and what to do now."""
    return water_page(request, {"depth": depth, "leg": leg})


def water_page(
    request: Request, typed: dict[str, str], problems: Sequence[Any] = (), status: int = 200, moved_on: bool = False
) -> HTMLResponse:
    """The questions with what was typed, the drawing at that depth, and what earlier crossings call for."""
    seen, plan = planned(request)
    view = water.view_of(seen, typed.get("depth", ""), typed.get("leg", ""))
    under = water.by_unit(tuple(mark for mark in view.marks if mark.under))
    depth = water.depth_slip(typed.get("depth", ""))
    slips = (*([depth] if depth else ()), *slips_of(problems, crossing_field))
    ahead, past = ([water.told(plan, one) for one in water.planned(plan, past=past)] for past in (False, True))
    return page(
        request, "water.html.j2", status, title="After water", seen=seen, plan=plan, typed=typed,
        round_depths_m=[f"{depth:g}" for depth in field_text.ROUND_DEPTHS_M], round_minutes=field_text.ROUND_MINUTES,
        ahead=ahead, past=past, chosen=water.chosen(plan),
        slips=slips if status != 200 else (), wrong=by_place(slips),
        view=view, under=under, waters=Water.__args__, moved_on=moved_on,  # type: ignore[attr-defined]
        version=water.crossings_version(desk_of(request).folder), note=field_text.NO_JUDGEMENT,
        made=[water.told(plan, one) for one in reversed(plan.crossings) if one.crossed],
    )  # fmt: skip


@routes.get("/why")
def why(request: Request) -> Response:
    """Every item by its verdict; each opens to its reasons."""
    seen, plan = planned(request)
    groups = [(verdict, work_order.with_verdict(plan, verdict)) for verdict in VERDICTS]
    return page(request, "why.html.j2", title="Why", seen=seen, plan=plan, groups=groups, lists=sheet_lists)


@routes.get("/item/{item}")
def item(request: Request, item: str) -> Response:
    """One item's reasons, the rows behind them, and their sources."""
    seen, plan = planned(request)
    known = resolve_item(seen.catalogue, item)
    if known is None or seen.inputs is None:
        raise HTTPException(404, "no such item")
    told = why_of(plan, known, seen.inputs, seen.catalogue)
    return page(
        request, "item.html.j2", title=known.name, seen=seen, plan=plan, item=known, why=told,
        left_out=known.left_out, left_out_words=tuple(LeftOutAs),
    )  # fmt: skip


@routes.get("/hand-over")
def hand_over(request: Request) -> Response:
    """Calendar, sheet, cards and lists to take along."""
    seen, plan = planned(request)
    access: Access = request.app.state.access
    return page(
        request, "hand_over.html.j2", title="Hand over", seen=seen, plan=plan, access=access, lists=sheet_lists,
        square=Markup(square_code(access.pairing_address)),
    )  # fmt: skip


@routes.get("/saved")
def saved(request: Request) -> Response:
    """What was saved from the page, the newest first, each to be taken back while nothing was written over it."""
    desk = desk_of(request)
    return page(request, "saved.html.j2", title="What was saved", seen=desk.see(), saves=desk.open_saves())


@routes.get("/answer")
def answer(request: Request, here: str = "/") -> Response:
    """For a page that shows the quick plan: nothing while the solved one is awaited, then the way to it."""
    if desk_of(request).see().answer == PLAIN:
        return Response(status_code=204)
    path = here if here.startswith("/") and not here.startswith("//") else "/"
    return HTMLResponse(f'<a href="{escape(path)}">The solved plan is ready, with all its warnings: show it.</a>')


class Why(Struct, frozen=True, kw_only=True):
    """The item's positions in the plan, the rows behind them quoted, and their sources."""

    entries: tuple[PlanItem, ...]
    rows: tuple[str, ...]
    sources: tuple[Source, ...]


def why_of(plan: Plan, item: Item, inputs: Inputs, catalogue: Catalogue) -> Why:
    """Everything the page tells about why."""
    entries = tuple(entry for entry in plan.items if entry.item == item.id)
    origins = [origin for entry in entries for origin in _origins(entry)]
    rows = tuple(row.strip() for row in rows_behind(origins, inputs, catalogue))
    named = {item.source} | sources_behind(origins, catalogue)
    return Why(entries=entries, rows=rows, sources=tuple(source for source in catalogue.sources if source.id in named))


def _origins(entry: PlanItem) -> list[Origin]:
    found = [origin for reason in entry.reasons for origin in reason.origins]
    return found + [part.origin for wear in entry.wear for part in (*wear.parts, *wear.water)]
