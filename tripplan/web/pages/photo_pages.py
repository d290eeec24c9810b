"""Photos of findings: put to a job of the day or to a row of the history, and looked at."""

from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response
from msgspec.structs import replace

from tripplan.files.way_in import content
from tripplan.records.problems import BadInput
from tripplan.web.access.security import PHOTO_PATH
from tripplan.web.forms.fields import Form, after, last, poster
from tripplan.web.forms.history_form import PART, history_version
from tripplan.web.forms.photo_form import NAME, PHOTOS, kept_photos, name_for, pixels_only, with_photo
from tripplan.web.forms.slips import Field, by_place, slips_of
from tripplan.web.forms.table_form import Row, new_content, read_grid
from tripplan.web.open_trip import Desk
from tripplan.web.pages import day_work
from tripplan.web.pages.render import page
from tripplan.web.pages.trip_pages import desk_of
from tripplan.web.saves.memory import Tick, read_memory

routes = APIRouter()
post = poster(routes)
FIELD = Field(place="photo-wrong", label="Photo")


@routes.get(PHOTO_PATH)
def photo(request: Request, row: str = "", day: str = "", job: str = "") -> HTMLResponse:
    """The form for one photo, to a row of the history or to a job of a day."""
    return _form(request, {"row": row, "day": day, "job": job, "version": history_version(desk_of(request))})


@routes.get("/photos.json")
def photos(request: Request) -> dict[str, Any]:
    """The photos there are."""
    return {"photos": [f"{PHOTOS}/{name}" for name in kept_photos(desk_of(request).folder)]}


@routes.get("/photos/{name}")
def picture(request: Request, name: str) -> Response:
    """One photo."""
    found = content(desk_of(request).folder / PHOTOS / name) if NAME.fullmatch(name) else None
    if found is None:
        raise HTTPException(404, "no such photo")
    return Response(found, media_type="image/jpeg")


@post(PHOTO_PATH, files=1)
def keep_photo(request: Request, form: Form) -> Response:
    """Keep a photo without its place and time, and name it in the note it belongs to."""
    desk, (_, raw) = desk_of(request), request.state.sent
    asked = {name: last(form, name) for name in ("row", "day", "job", "version")}
    try:
        bare = pixels_only(raw)
        with desk.writing():
            return _to_row(desk, asked, bare) if asked["row"] else _to_job(desk, asked, bare)
    except BadInput as error:
        return _form(request, asked, error, 422)


def _to_row(desk: Desk, asked: dict[str, str], bare: bytes) -> Response:
    grid, _ = read_grid(desk.folder, PART)
    row = _row_named(grid.rows, asked["row"])
    if asked["version"] != history_version(desk):
        raise HTTPException(409, "the history was changed meanwhile; open it afresh")
    seen = [row.cells.get(column, "") for column in ("item", "position")]
    name = name_for(desk.folder, row.cells.get("date", ""), " ".join(seen) or row.cells.get("act", ""))
    noted = replace(row, cells={**row.cells, "note": with_photo(row.cells.get("note", ""), name)})
    wanted = replace(grid, rows=tuple(noted if one is row else one for one in grid.rows))
    new, _ = new_content(desk.folder, grid, wanted)
    changes = {f"{PHOTOS}/{name}": bare} | ({grid.file: new} if new is not None else {})
    return after("/history", desk.save(changes, f"A photo to row {row.key} of the history"))


def _to_job(desk: Desk, asked: dict[str, str], bare: bytes) -> Response:
    plan = desk.see().plan
    slot = day_work.slot_named(plan, asked["day"]) if plan else None
    job = next((job for job in slot.jobs if day_work.job_key(job) == asked["job"]), None) if slot else None
    if plan is None or slot is None or job is None:
        raise HTTPException(404, "no such job in this plan")
    name = name_for(desk.folder, desk.today.isoformat(), f"{job.item} {job.position or ''}")
    desk.save({f"{PHOTOS}/{name}": bare}, f"A photo of {job.name}")
    tick = read_memory(desk.folder).ticks(slot.id).get(asked["job"], Tick())
    noted = replace(tick, note=with_photo(tick.note, name))
    desk.remember(lambda memory: memory.with_tick(slot.id, asked["job"], noted))
    return after(f"/jobs/{slot.id}", place=day_work.day_of(plan, slot, {}).mark_of(asked["job"]))


def _row_named(rows: tuple[Row, ...], key: str) -> Row:
    found = next((row for row in rows if row.key == key), None)
    if found is None:
        raise HTTPException(404, "no such row in the history")
    return found


def _form(request: Request, asked: dict[str, str], error: BadInput | None = None, status: int = 200) -> HTMLResponse:
    slips = slips_of(error.problems if error else (), lambda problem: FIELD if problem.column == "photo" else None)
    return page(
        request, "photo.html.j2", status, title="A photo", asked=asked, slips=slips, wrong=by_place(slips),
        back=f"/jobs/{asked['day']}" if asked["day"] else "/history",
    )  # fmt: skip
