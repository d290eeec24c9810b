"""The page as one application: routes, static files, the guard before them, and what is said when it goes wrong."""

from contextlib import asynccontextmanager
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from tripplan.files.held import HELD
from tripplan.records.problems import STOPS, BadInput, problem_row
from tripplan.web import posts
from tripplan.web.access.security import Access, Guard
from tripplan.web.forms.first_visit import NEXT_STEPS
from tripplan.web.open_trip import Desk
from tripplan.web.pages import home_pages, json_pages, phone_pages, photo_pages, record_pages, trip_pages
from tripplan.web.pages.render import page, problem_page
from tripplan.web.saves.logbook_folder import Bound
from tripplan.web.saves.saving import UNFINISHED

SCRIPT = "text/javascript; charset=utf-8"
STATIC = {
    "page.css": "text/css; charset=utf-8", "page.js": SCRIPT, "bench.js": SCRIPT, "squares.js": SCRIPT, "htmx.min.js": SCRIPT,
    "icon.svg": "image/svg+xml",
}  # fmt: skip


def create_app(
    folder: Path, today: date | None = None, access: Access | None = None, background: bool = True,
    bound: Bound | None = None,
) -> FastAPI:  # fmt: skip
    """The application for one trip folder, or for the one that a logbook is bound to.

    `background` False solves every plan before it is shown.
    """
    desk = Desk(folder, today, background, bound)
    access = access or Access()

    @asynccontextmanager
    async def life(_: FastAPI) -> Any:
        yield
        desk.stop()

    app = FastAPI(title="tripplan", version="1", docs_url=None, redoc_url=None, lifespan=life)
    app.state.desk, app.state.access = desk, access
    for routes in (
        json_pages.routes, trip_pages.routes, home_pages.routes, record_pages.routes, photo_pages.routes, posts.routes,
        phone_pages.routes,
    ):  # fmt: skip
        app.include_router(routes)
    app.add_api_route("/static/{name}", static, methods=["GET"], include_in_schema=False)
    _say_errors(app)
    app.add_middleware(Guard, access=access)
    return app


def static(name: str) -> Response:
    """The style and the script of the page; there is nothing else to be had."""
    if name not in STATIC:
        raise HTTPException(404, "no such file")
    content = files("tripplan.web").joinpath("static", name).read_bytes()
    return Response(content, media_type=STATIC[name], headers={"Cache-Control": "max-age=60"})


def _say_errors(app: FastAPI) -> None:
    @app.exception_handler(BadInput)
    def refused(request: Request, error: BadInput) -> Response:
        is_busy = all(problem.code == HELD for problem in error.problems)
        if is_busy and not _wants_json(request):
            return problem_page(request, error.problems, 503, getattr(request.state, "typed", None))
        return _problems(request, error.problems, 503 if is_busy else 422)

    @app.exception_handler(trip_pages.NotPlanned)
    def not_planned(request: Request, error: trip_pages.NotPlanned) -> Response:
        problems = error.seen.problems
        if _wants_json(request):
            return _problems(request, problems, 409)
        if all(problem.code in UNFINISHED for problem in problems if problem.weight == STOPS):
            return page(request, "begun.html.j2", 409, title="Not planned yet", steps=NEXT_STEPS)
        shown = [problem for problem in problems if problem.weight == STOPS]
        return page(request, "not_planned.html.j2", 409, title="Not planned yet", problems=shown, seen=error.seen)

    @app.exception_handler(RequestValidationError)
    def unreadable(request: Request, error: RequestValidationError) -> Response:
        return _plain(request, "That could not be read as a request of this page.", 422)

    @app.exception_handler(HTTPException)
    def known(request: Request, error: HTTPException) -> Response:
        return _plain(request, str(error.detail), error.status_code)

    @app.exception_handler(ClientDisconnect)
    def gone(request: Request, error: ClientDisconnect) -> Response:
        return Response(status_code=400)


def _wants_json(request: Request) -> bool:
    return request.url.path.endswith(".json")


def _problems(request: Request, problems: Any, status: int) -> Response:
    if _wants_json(request):
        return JSONResponse({"problems": [problem_row(problem) for problem in problems]}, status)
    return problem_page(request, problems, status)


def _plain(request: Request, text: str, status: int) -> Response:
    if _wants_json(request):
        return JSONResponse({"detail": text}, status)
    return page(request, "plain.html.j2", status, title="Not here" if status == 404 else "Refused", text=text)
