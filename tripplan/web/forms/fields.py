"""Forms as they come in: read within limits, checked for our token, and handed to the function of their address."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from tripplan.records.problems import STOPS, Problem
from tripplan.web.access.security import same
from tripplan.web.forms.slips import FORM

MOST_FIELDS = 20_000
Form = dict[str, list[str]]
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
    form: Form = {}
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


def typed_problem(column: str, found: str, accepted: str) -> Problem:
    """Something typed into a form that cannot be used."""
    return Problem(code="A21", weight=STOPS, file=FORM, column=column, found=found or "nothing",
                   accepted=accepted)  # fmt: skip
