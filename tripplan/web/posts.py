"""What is written: each form checked for its token and its version, handed to an edge, and answered by a page."""

import time
from collections.abc import Mapping

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response
from msgspec.structs import replace

from tripplan.commands import log_and_cross
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.files.left_out import LEFT_OUT_FILE, left_out_content
from tripplan.files.whole_files import may_not_write
from tripplan.records.cell_values import DAY_ACCEPTED, day
from tripplan.records.facts_in import as_day
from tripplan.records.lookups import resolve_item
from tripplan.records.problems import BadInput
from tripplan.web.access.keys import Keys, write_keys
from tripplan.web.access.security import PAIR_PATH, TRACK_PATH, not_paired, pair_cookie
from tripplan.web.forms import first_visit
from tripplan.web.forms.fields import UNITS, Form, after, last, poster, slipped, typed_problem
from tripplan.web.forms.table_form import UNCHANGED, longer
from tripplan.web.forms.track_form import with_track
from tripplan.web.forms.trip_form import changes_of, clash_of, read_typed, typed_from
from tripplan.web.forms.typed import plain_day, plain_number
from tripplan.web.open_trip import Desk
from tripplan.web.pages import day_work, water
from tripplan.web.pages.asked_notes import asked_of_ticks
from tripplan.web.pages.trip_pages import desk_of, start_page, trip_page, water_page, work_page
from tripplan.web.saves.memory import Memory, Tick, read_memory

routes = APIRouter()
post = poster(routes)
BACK_TO = ("/", "/trip", "/jobs", "/water", "/rig", "/history", "/saved")


@post("/start/demo")
def start_demo(request: Request, form: Form) -> Response:
    """Copy a demo into the folder, and see it from its own day."""
    desk, name = desk_of(request), last(form, "demo")
    if name not in DEMOS:
        return start_page(request, {}, [typed_problem("demo", name, "one of the demos listed")], 422)
    try:
        copy_demo(name, desk.folder)
    except BadInput as error:
        return start_page(request, {}, error.problems, 409)
    desk.remember(lambda memory: Memory(seen_from=DEMOS[name]))
    write_keys(desk.folder, request.app.state.access.keys)
    return after("/")


@post("/start/rig")
def start_rig(request: Request, form: Form) -> Response:
    """Write the files of a new trip folder."""
    desk = desk_of(request)
    if not desk.is_new:
        found = typed_problem("folder", desk.folder.name, "a folder without a trip in it")
        return start_page(request, {}, [found], 409)
    try:
        number = desk.save(first_visit.new_files(form, desk.today), "A new trip folder")
    except BadInput as error:
        return start_page(request, {name: values[-1] for name, values in form.items()}, error.problems, 422)
    write_keys(desk.folder, request.app.state.access.keys)
    return after("/begun", number)


@post("/trip")
def trip(request: Request, form: Form) -> Response:
    """Save the trip's tables; what another tab saved meanwhile is shown beside, and nothing is lost."""
    desk = desk_of(request)
    with desk.writing():
        now, _ = read_typed(desk.folder)
        typed, (do, _, part) = typed_from(form, now), last(form, "do").partition(".")
        if do in ("more", "paste"):
            grown = [longer(grid, form) if grid.part == part else (grid, "") for grid in typed.grids]
            typed = replace(typed, grids=tuple(grid for grid, _ in grown))
            return trip_page(request, typed=typed, note="".join(note for _, note in grown), longer=part)
        if typed.version != now.version:
            return trip_page(request, 409, typed=typed, clash=clash_of(now, typed))
        places: dict[str, dict[int, str]] = {}
        try:
            changes, places = changes_of(desk.folder, now, typed)
            if not changes:
                return trip_page(request, note=UNCHANGED)
            number = desk.save(changes, "The trip")
        except BadInput as error:
            return trip_page(request, 422, typed=typed, problems=error.problems, places=places)
    return after("/trip", number)


@post(TRACK_PATH, files=1)
def track(request: Request, form: Form) -> Response:
    """Keep a track that was dropped, and put its legs into the form."""
    desk = desk_of(request)
    with desk.writing():
        now, _ = read_typed(desk.folder)
        typed = typed_from(form, now)
        try:
            grown, note = with_track(desk, typed, request.state.sent, last(form, "by"), last(form, "km_a_day"))
        except BadInput as error:
            return trip_page(request, 422, typed=typed, problems=error.problems)
        return trip_page(request, typed=grown, note=note)


@post("/jobs/{slot}")
def work(request: Request, form: Form) -> Response:
    """Keep the ticks, findings and notes of a day, at once."""
    desk, slot = desk_of(request), request.path_params["slot"]
    seen = desk.see()
    if seen.plan is None or day_work.slot_named(seen.plan, slot) is None:
        raise HTTPException(404, "no such day in this plan")
    with desk.writing():
        changed, clashes = day_work.with_form(read_memory(desk.folder).ticks(slot), form)
        for key, tick in changed.items():
            desk.remember(lambda memory, key=key, tick=tick: memory.with_tick(slot, key, tick))  # type: ignore[misc]
    if clashes:
        return work_page(request, slot, clashes, status=409)
    return after(f"/jobs/{slot}", place=last(form, "place"))


@post("/jobs/{slot}/close")
def close_day(request: Request, form: Form) -> Response:
    """Put all that is ticked into the history, in one go, and plan again."""
    desk, slot = desk_of(request), request.path_params["slot"]
    with desk.writing():
        ticks = _ticks_to_close(desk, slot, last(form, "do") == "all")
        jobs, on, unit = day_work.jobs_for_log(ticks), plain_day(last(form, "date")), last(form, "unit")
        odometer = plain_number(last(form, "odometer_km"), "km")
        if not jobs:
            found = typed_problem("ticks", "nothing ticked", "at least one tick")
            return work_page(request, slot, problems=[found], status=422)
        try:
            number, _ = desk.record(
                lambda: log_and_cross.log(
                    desk.folder, unit or None, (), None, on, odometer or None, note=day_work.notes_for_log(ticks),
                    jobs=jobs, today=desk.recorded_from, as_json=True,
                ),
                f"{len(jobs)} of the day's jobs into the history", slot,
            )  # fmt: skip
        except BadInput as error:
            typed = {name: last(form, name) for name in ("date", "odometer_km")}
            return work_page(request, slot, problems=error.problems, status=422, typed=typed)
        desk.asked[number] = asked_of_ticks(ticks, desk.see().catalogue)
    return after("/jobs", number)


def _ticks_to_close(desk: Desk, slot: str, is_whole: bool) -> Mapping[str, Tick]:
    """What is ticked of a day, or with `is_whole` all of it."""
    ticks, plan = read_memory(desk.folder).ticks(slot), desk.see().plan
    known = day_work.slot_named(plan, slot) if plan else None
    if not is_whole or plan is None or known is None:
        return ticks
    return day_work.all_done(day_work.day_of(plan, known, ticks), ticks)


@post("/jobs/{slot}/done")
def day_on_paper(request: Request, form: Form) -> Response:
    """Record a day of work as planned, whole, on its own day; it was done on paper."""
    desk, slot = desk_of(request), request.path_params["slot"]
    with desk.writing():
        number, _ = desk.record(
            lambda: log_and_cross.log(
                desk.folder, None, (), None, None, today=desk.recorded_from, as_json=True, done=(slot,)
            ),
            f"A day of work as planned, {slot}",
        )
    return after("/jobs", number)


@post("/item/{item}/leave-out")
def leave_out(request: Request, form: Form) -> Response:
    """Leave an item out of every plan with the owner's reason, or take it in again."""
    desk, known = desk_of(request), resolve_item(desk_of(request).see().catalogue, request.path_params["item"])
    if known is None:
        raise HTTPException(404, "no such item")
    back, unit = last(form, "do") == "back", last(form, "unit")
    with desk.writing():
        word, said = (None, "planned again") if back else (last(form, "as"), "left out")
        content = left_out_content(desk.folder, known.id, unit, word, last(form, "because"))
        number = desk.save({f"overrides/{LEFT_OUT_FILE}": content}, f"{known.name} {said}")
    return after(f"/item/{known.id}", number)


@post("/water")
def cross(request: Request, form: Form) -> Response:
    """Record a crossing that was made, as `tripplan cross` does, and tell what to do now."""
    desk = desk_of(request)
    typed = {name: last(form, name) for name in form}
    if last(form, "do") == "show" or (typed.get("depth") and water.depth_slip(typed["depth"])):
        return water_page(request, typed, status=200 if last(form, "do") == "show" else 422)
    with desk.writing():
        if last(form, "version") != water.crossings_version(desk.folder):
            return water_page(request, typed, status=409, moved_on=True)
        at = " ".join(part for part in (plain_day(last(form, "day")), last(form, "time")) if part)
        figures = {name: plain_number(last(form, name), UNITS[name]) for name in ("depth", "minutes", "at_km")}
        told = (last(form, "leg"), figures["depth"], figures["minutes"] or None, last(form, "water"), at)
        more = (figures["at_km"] or None, None, last(form, "stalled") == "yes", last(form, "hubs_hot") == "yes")
        try:
            number, _ = desk.record(
                lambda: log_and_cross.cross(desk.folder, *told, *more, today=desk.recorded_from, as_json=True),
                f"Crossing on leg {told[0]}",
            )
        except BadInput as error:
            return water_page(request, typed, error.problems, 422)
    return after("/water", number, "now")


@post("/undo")
def undo(request: Request, form: Form) -> Response:
    """Take one save back."""
    text = last(form, "number")
    if not (text.isascii() and text.isdigit() and len(text) < 9):
        raise HTTPException(404, "no such save")
    number = desk_of(request).take_back(int(text))
    back = last(form, "back")
    return after(back if back in BACK_TO else "/", number)


@post(PAIR_PATH)
def pair(request: Request, form: Form) -> Response:
    """Pair the device that enters the code; after too many wrong ones none is looked at for a while."""
    access = request.app.state.access
    if access.pair is None:
        return after("/")
    is_right = access.takes(last(form, "code"), time.monotonic())
    if is_right is None:
        return not_paired(request.state.form_token, "Too many wrong codes. Wait ten minutes and enter it again.")
    if not is_right:
        return not_paired(request.state.form_token, "That is not the code.")
    answer = after("/")
    answer.headers.append("set-cookie", pair_cookie(access))
    return answer


@post("/pairing")
def pairing(request: Request, form: Form) -> Response:
    """Make another pairing code; every device but this one has to pair again."""
    access = request.app.state.access
    _change_keys(request, access.keys.with_new_pair())
    answer = after("/hand-over", place="pair")
    answer.headers.append("set-cookie", pair_cookie(access))
    return answer


@post("/calendar-address")
def calendar_address(request: Request, form: Form) -> Response:
    """Switch the calendar on, off, or to another password."""
    _change_keys(request, request.app.state.access.keys.with_calendar(last(form, "do") == "on"))
    return after("/hand-over", place="sub")


def _change_keys(request: Request, keys: Keys) -> None:
    with desk_of(request).writing():
        with may_not_write("keys.json"):
            write_keys(desk_of(request).folder, keys)
        request.app.state.access.keys = keys


@post("/seen-from")
def seen_from(request: Request, form: Form) -> Response:
    """See the plan from another day, or from this machine's day again."""
    desk, text = desk_of(request), last(form, "day")
    try:
        kept = as_day(day(text)) if text else None
    except ValueError:
        raise slipped("day", text, DAY_ACCEPTED) from None
    if kept is not None and not 1990 <= kept.year <= 2100:
        raise slipped("day", text, "a day from 1990 to 2100")
    desk.remember(lambda memory: replace(memory, seen_from=kept))
    return after("/")
