"""The rig and its history: shown, corrected in place, and added to."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from tripplan.records.problems import BadInput, problem_row
from tripplan.web.forms.fields import Form, after, last, poster
from tripplan.web.forms.history_form import PART, Part, history_form, history_version
from tripplan.web.forms.rig_form import RIG_FILE, new_rig, read_rig_typed, rig_clash, rig_form, typed_rig
from tripplan.web.forms.table_form import UNCHANGED, Grid, differences, from_form, longer, new_content, read_grid
from tripplan.web.pages.asked_notes import asked_of_rows
from tripplan.web.pages.render import page
from tripplan.web.pages.trip_pages import desk_of

routes = APIRouter()
post = poster(routes)


@routes.get("/rig")
def rig(request: Request, depth: str = "") -> Response:
    """What travels: each unit with its heights, and what is under water at a depth."""
    if desk_of(request).is_new:
        return RedirectResponse("/start", 303)
    return _rig_page(request, depth=depth)


def _rig_page(request: Request, status: int = 200, **given: Any) -> Response:
    return page(request, "rig.html.j2", status, **rig_form(desk_of(request), **given))


@routes.get("/rig.json")
def rig_twin(request: Request) -> dict[str, Any]:
    """The rig's fields as text, with the version a form would carry."""
    typed, _ = read_rig_typed(desk_of(request).folder)
    return {"version": typed.version, "fields": dict(typed.fields)}


@post("/rig")
def save_rig(request: Request, form: Form) -> Response:
    """Save the rig; what another tab saved meanwhile is shown beside, and nothing is lost."""
    desk = desk_of(request)
    with desk.writing():
        now, _ = read_rig_typed(desk.folder)
        typed, depth = typed_rig(form, now), last(form, "depth")
        if last(form, "do") == "depth":
            return _rig_page(request, typed=typed, depth=depth)
        if typed.version != now.version:
            return _rig_page(request, 409, typed=typed, clash=rig_clash(now, typed), depth=depth)
        try:
            new = new_rig(desk.folder, now, typed)
            if new is None:
                return _rig_page(request, depth=depth, note=UNCHANGED)
            number = desk.save({RIG_FILE: new}, "The rig")
        except BadInput as error:
            return _rig_page(request, 422, typed=typed, problems=error.problems, depth=depth)
    return after("/rig", number)


@routes.get("/history")
def history(request: Request, word: str = "", before: str = "") -> Response:
    """What was done and read, the newest first."""
    if desk_of(request).is_new:
        return RedirectResponse("/start", 303)
    return _history_page(request, part=part_of(word, before))


def _history_page(request: Request, status: int = 200, **given: Any) -> Response:
    return page(request, "history.html.j2", status, **history_form(desk_of(request), **given))


@routes.get("/history.json")
def history_twin(request: Request) -> dict[str, Any]:
    """The whole history as text, with its rows as a spreadsheet numbers them."""
    desk = desk_of(request)
    grid, problems = read_grid(desk.folder, PART)
    rows = [{"row": int(row.key), **row.cells} for row in grid.rows]
    return {"version": history_version(desk), "file": grid.file, "rows": rows,
            "problems": [problem_row(problem) for problem in problems]}  # fmt: skip


@post("/history")
def save_history(request: Request, form: Form) -> Response:
    """Put corrected and new rows into the history, all or none."""
    desk = desk_of(request)
    with desk.writing():
        now, _ = read_grid(desk.folder, PART)
        typed, version = from_form(now, form), last(form, "version")
        part = part_of(last(form, "word"), last(form, "before"))
        if last(form, "do") in ("more", "paste"):
            grown, note = longer(typed, form)
            return _history_page(request, part=part, typed=grown, note=note, version=version)
        if version != history_version(desk):
            return _history_page(request, 409, part=part, typed=typed, clash=differences(now, typed))
        places: dict[int, str] = {}
        try:
            new, places = new_content(desk.folder, now, typed)
            if new is None:
                return _history_page(request, part=part, note=UNCHANGED)
            fresh = [row for row, key in places.items() if key.startswith("new")]
            number = desk.save({now.file: new}, "The history", {now.file: fresh})
            seen = desk.see()
            touched = _touched(now, typed, places)
            rows = [row for row in seen.inputs.history if row.origin.row in touched] if seen.inputs else []
            desk.asked[number] = asked_of_rows(rows, seen.catalogue)
        except BadInput as error:
            return _history_page(request, 422, part=part, typed=typed, problems=error.problems, places=places)
    return after("/history", number)


def _touched(now: Grid, typed: Grid, places: dict[int, str]) -> set[int]:
    """The rows of the file that the form changed or added."""
    have, wanted = ({row.key: row.cells for row in grid.rows} for grid in (now, typed))
    return {number for number, key in places.items() if key in wanted and wanted[key] != have.get(key)}


def part_of(word: str, before: str) -> Part:
    """The part of the history that an address asks for."""
    is_row = before.isascii() and before.isdigit() and len(before) < 9
    return Part(word=word.strip()[:60], before=int(before) if is_row else None)
