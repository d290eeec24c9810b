"""The same answers as JSON, and the files to take along."""

from pathlib import Path
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, PlainTextResponse, Response
from msgspec.structs import asdict

from tripplan.commands.beside_plan import beside_plan
from tripplan.files.recording import outputs_held
from tripplan.files.way_in import content
from tripplan.records.lookups import resolve_item
from tripplan.records.problems import problem_row
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.plan_json import plan_dict, plan_json
from tripplan.sheets.why_text import why_json
from tripplan.web.access.security import CALENDAR_PATH, style_policy
from tripplan.web.forms.trip_form import read_typed
from tripplan.web.pages.trip_pages import desk_of, planned
from tripplan.web.saves.memory import read_memory
from tripplan.web.saves.saving import PLAIN, Seen

routes = APIRouter()
FOR_THE_PHONE = "field.html"
KINDS = {
    "worksheet.html": "text/html; charset=utf-8", "cards.html": "text/html; charset=utf-8",
    FOR_THE_PHONE: "text/html; charset=utf-8", "worksheet.txt": "text/plain; charset=utf-8", "tasks.csv": "text/csv; charset=utf-8",
    "shopping.csv": "text/csv; charset=utf-8", "calendar.ics": "text/calendar; charset=utf-8",
    "calendar_todo.ics": "text/calendar; charset=utf-8",
}  # fmt: skip


@routes.get("/plan.json")
def plan(request: Request) -> Response:
    """The plan shown, as `tripplan plan --json` prints it."""
    _, made = planned(request)
    return Response(plan_json(made), media_type="application/json")


@routes.get("/state.json")
def state(request: Request) -> dict[str, Any]:
    """Which answer is shown, and the problems of the folder."""
    seen = desk_of(request).see()
    return {
        "answer": seen.answer if seen.plan else None, "version": seen.version, "today": seen.today.isoformat(),
        "problems": [problem_row(problem) for problem in seen.problems],
        "gap": seen.plan.totals.gap if seen.plan else None,
    }  # fmt: skip


@routes.get("/trip.json")
def trip(request: Request) -> dict[str, Any]:
    """The trip's facts and tables as text, with the version a form would carry."""
    typed, problems = read_typed(desk_of(request).folder)
    tables = {grid.part: [dict(row.cells) for row in grid.rows] for grid in typed.grids}
    rows = [problem_row(problem) for problem in problems]
    return {"version": typed.version, "trip": dict(typed.facts), **tables, "problems": rows}


@routes.get("/jobs/{slot}.json")
def work_day(request: Request, slot: str) -> dict[str, Any]:
    """One day's work and its ticks."""
    _, made = planned(request)
    found = next((one for one in plan_dict(made)["slots"] if one["id"] == slot), None)
    if found is None:
        raise HTTPException(404, "no such day in this plan")
    ticks = read_memory(desk_of(request).folder).ticks(slot)
    return {**found, "ticks": {key: asdict(tick) for key, tick in ticks.items()}}


@routes.get("/jobs.json")
@routes.get("/water.json")
@routes.get("/why.json")
def part(request: Request) -> dict[str, Any]:
    """A part of `plan.json`: the days with their work, the crossings with their calls, or the items with reasons."""
    _, made = planned(request)
    name = {"/jobs.json": "slots", "/water.json": "crossings", "/why.json": "items"}[request.url.path]
    return {name: plan_dict(made)[name]}


@routes.get("/item/{item}.json")
def item(request: Request, item: str) -> Response:
    """One item's reasons, as `tripplan why --json` prints them."""
    seen, made = planned(request)
    known = resolve_item(seen.catalogue, item)
    if known is None or seen.inputs is None:
        raise HTTPException(404, "no such item")
    return Response(why_json(made, known, seen.inputs, seen.catalogue), media_type="application/json")


@routes.get("/hand-over.json")
def hand_over(request: Request) -> Any:
    """What there is to buy, carry and order, and the files to take along; not from the quick plan."""
    seen, made = planned(request)
    if seen.answer == PLAIN:
        return _not_yet()
    document = plan_dict(made)
    return {name: document[name] for name in ("shopping", "carry", "orders")} | {
        "files": [f"/files/{n}" for n in KINDS]
    }


@routes.get("/saved.json")
def saved(request: Request) -> dict[str, Any]:
    """What was saved from the page, the newest first."""
    return {"saves": [
        {"number": entry.number, "label": entry.label, "at": entry.at, "files": list(entry.files),
         "can_be_taken_back": may, "changes": dict(entry.changes)}
        for entry, may in desk_of(request).open_saves()
    ]}  # fmt: skip


@routes.get("/files/{name}")
def file(request: Request, name: str) -> Response:
    """One file of those `tripplan plan` writes, made from the solved plan."""
    if name not in KINDS:
        raise HTTPException(404, "no such file")
    return _file(request, name)


@routes.get(CALENDAR_PATH)
def calendar(request: Request) -> Response:
    """The calendar for a program that asks again by itself; only with --lan, and only for its password."""
    if request.app.state.access.calendar is None:
        raise HTTPException(404, "no such calendar")
    return _file(request, "calendar.ics")


def _file(request: Request, name: str) -> Response:
    seen, _ = planned(request)
    if seen.answer == PLAIN:
        return _not_yet()
    path = issue(request, seen) / name
    found = content(path)
    if found is None:
        raise HTTPException(404, "no such file")
    if not name.endswith(".html") or name == FOR_THE_PHONE:
        named = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(found, media_type=KINDS[name], headers=named)
    text = found.decode()
    return HTMLResponse(text, headers={"Content-Security-Policy": style_policy(text)})


def _not_yet() -> Response:
    text = "The solved plan is still being worked out; ask again shortly."
    return PlainTextResponse(text, 503, headers={"Retry-After": "10"})


def issue(request: Request, seen: Seen) -> Path:
    """The folder `outputs`, brought up to date once for each plan; its calendar keeps its entries' names."""
    desk = desk_of(request)
    out = desk.folder / "outputs"
    assert seen.inputs is not None and seen.plan is not None
    text = plan_json(seen.plan).encode()
    with desk.lock, outputs_held(out):
        if content(out / "plan.json") != text or not (out / "calendar.ics").is_file():
            write_outputs(seen.plan, out, **beside_plan(seen.plan, seen.inputs, seen.catalogue))
    return out
