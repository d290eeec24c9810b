"""Forms as they come in: read within limits, checked for our token, and which of their fields a problem is about."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from tripplan.records.problems import STOPS, BadInput, Problem
from tripplan.web.access.security import same
from tripplan.web.forms.slips import FORM, Field

LEG, DEPTH, MINUTES = ("leg", "Leg"), ("depth", "Depth, m"), ("minutes", "Minutes in the water")
WATER, AT_KM, DAY = ("water", "What water"), ("at_km", "Km from the start of the leg"), ("at_day", "Day and time")
CROSSING = {"leg": LEG, "depth_m": DEPTH, "minutes": MINUTES, "water": WATER, "at_km": AT_KM, "crossed": DAY}
CROSSING_CODES = {"A01": DAY, "C10": LEG, "C17": AT_KM, "C16": AT_KM}
ONE_LISTED = "one of the legs listed"
CLOSING = {"date": ("date", "Day of the work"), "odometer_km": ("odometer_km", "Odometer, km")}
CLOSING_CODES = {"A01": CLOSING["date"], "A06": CLOSING["date"]}
UNITS = {"depth": "m", "minutes": "min", "at_km": "km", "odometer_km": "km"}
MOST_FIELDS = 20_000
Form = Mapping[str, Sequence[str]]
Handler = Callable[[Request, Form], Response]
BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/x-www-form-urlencoded": {
            "schema": {"type": "object", "properties": {"csrf": {"type": "string"}}, "required": ["csrf"]}}},
    }
}  # fmt: skip


async def read_form(request: Request, files: int = 0) -> Form:
    """The fields of a form of ours; a form without our token is refused. A file goes to `request.state.sent`."""
    sent = await request.form(max_fields=MOST_FIELDS, max_files=files)
    form: dict[str, list[str]] = {}
    request.state.sent = ("", b"")
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            request.state.sent = (value.filename or "", await value.read())
        else:
            form.setdefault(name, []).append(value.replace("\r\n", "\n"))
    if not same(last(form, "csrf"), request.state.form_token):
        raise HTTPException(403, "the form is not from this page, or from before it was started again; open it afresh")
    request.state.typed = form
    return form


def last(form: Form, name: str) -> str:
    """One field as it was typed; empty when it was not sent."""
    return (form.get(name) or [""])[-1].strip()


def poster(routes: APIRouter) -> Callable[..., Callable[[Handler], Handler]]:
    """A way to say which function takes the form of which address, for one set of routes."""

    def post(path: str, files: int = 0) -> Callable[[Handler], Handler]:
        def wrap(handle: Handler) -> Handler:
            async def route(request: Request) -> Response:
                form = await read_form(request, files)
                return await run_in_threadpool(handle, request, form)

            route.__name__, route.__doc__ = handle.__name__, handle.__doc__
            routes.post(path, openapi_extra=BODY, response_class=Response)(route)
            return handle

        return wrap

    return post


def after(path: str, number: int | None = None, place: str = "") -> Response:
    """On to a page, which tells what was written."""
    told = f"?said={number}" if number is not None else ""
    return RedirectResponse(f"{path}{told}{'#' + place if place else ''}", 303)


def slipped(column: str, found: str, accepted: str) -> BadInput:
    """The refusal of something typed into a form."""
    return BadInput([typed_problem(column, found, accepted)])


def typed_problem(column: str, found: str, accepted: str) -> Problem:
    """Something typed into a form that cannot be used."""
    return Problem(code="A21", weight=STOPS, file=FORM, column=column, found=found or "nothing",
                   accepted=accepted)  # fmt: skip


def crossing_field(problem: Problem) -> Field | None:
    """The field of the page After water."""
    if problem.code in CROSSING_CODES:
        return _field(CROSSING_CODES[problem.code])
    known = CROSSING.get(problem.column or "") if problem.file in ("crossings.csv", FORM) else None
    return _field(known) if known else None


def closing_field(problem: Problem) -> Field | None:
    """The field with which a day is closed."""
    if problem.code in CLOSING_CODES:
        return _field(CLOSING_CODES[problem.code])
    known = CLOSING.get(problem.column or "") if problem.file.startswith("history.") else None
    return _field(known) if known else None


def _field(known: tuple[str, str]) -> Field:
    name, label = known
    return Field(place=f"{name}-wrong", label=label, accepted=ONE_LISTED if known is LEG else "")
