"""Templates into answers: what every page needs, escaped, with the form's token in it."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment
from markupsafe import Markup

from tripplan.records.problems import Problem, in_order
from tripplan.sheets import words
from tripplan.sheets.escaped import templates
from tripplan.sheets.moved_text import brief
from tripplan.sheets.worksheet import work_order
from tripplan.web.forms.photo_form import photos_in
from tripplan.web.forms.row_words import row_words, when
from tripplan.web.forms.slips import column_words, slips_of
from tripplan.web.open_trip import Desk
from tripplan.web.pages.drawing import moved_picture
from tripplan.web.saves import saving

# First what is opened every day, then what is opened now and then.
NAV = (
    ("/", "Trip line"), ("/jobs", "Work"), ("/water", "After water"), ("/history", "History"),
    ("/trip", "The trip"), ("/home", "Getting home"), ("/why", "Why"), ("/hand-over", "Hand over"), ("/rig", "The rig"),
)  # fmt: skip

TELLS_UNFINISHED = ("/", "/saved")


@cache
def environment() -> Environment:
    """The templates of the page; every word put into them is escaped."""
    made = templates("tripplan.web", "templates")
    made.globals.update(
        say=words,
        order=work_order,
        nav=NAV,
        row_words=row_words,
        column_words=column_words,
        when=when,
        photos_of=photos_in,
    )
    return made


def page(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """One page of ours."""
    desk: Desk = request.app.state.desk
    shown = {"title": "", **values}
    problems = in_order(shown.pop("problems", ()))
    slips = shown.pop("slips", None) or slips_of(problems)
    seen = values.get("seen")
    html = environment().get_template(template).render(
        here=request.url.path, csrf=request.state.form_token, said=said(desk, request), slips=slips,
        is_new=desk.is_new, answer=seen.answer if seen else "", today=desk.today,
        is_fixed_day=desk.fixed_today is not None,
        unfinished=desk.unfinished if request.url.path in TELLS_UNFINISHED else (), **shown,
    )  # fmt: skip
    return HTMLResponse(html, status)


def said(desk: Desk, request: Request) -> Mapping[str, Any] | None:
    """What was just written and what it moved, if this address asks for it."""
    text = request.query_params.get("said", "")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
    told = desk.told(number)
    if told is None:
        return None
    entry = desk.saves.get(number)
    moved = brief(told.changes)
    return {"text": told.text, "asked": desk.asked.get(number, ()), "jobs": _short(moved.jobs), "others": _short(moved.others),
            "counted": (*moved.of_jobs, *moved.of_items),
            "undo": number if entry is not None and saving.may_undo(desk.folder, entry) else None,
            "pictures": pictures(desk, told.changes.get("points", ())), "compared": bool(told.changes.get("against")), "more": len(moved.jobs) + len(moved.others)}  # fmt: skip


def pictures(desk: Desk, points: Sequence[Mapping[str, Any]]) -> list[tuple[str, Markup]]:
    """What moved on the trip line, for a desk and for a phone."""
    plan = desk.see().quick
    if plan is None or not points:
        return []
    both = (("wide", moved_picture(plan, points)), ("narrow", moved_picture(plan, points, narrow=True)))
    return [(name, Markup(picture)) for name, picture in both]


def _short(rows: Sequence[Mapping[str, str]]) -> list[Mapping[str, str]]:
    return list(rows[:12])


def problem_page(
    request: Request, problems: Sequence[Problem], status: int = 422, typed: Mapping[str, Sequence[str]] | None = None
) -> HTMLResponse:
    """Problems in a page of their own, with the way back, and with the form again where only the moment was wrong."""
    return page(request, "problems.html.j2", status, title="Not taken", problems=problems, typed=typed or {})


def square_code(text: str) -> str:
    """A text as a square code to be photographed by another device; empty without a text or without the package."""
    try:
        import segno
    except ImportError:
        return ""
    if not text:
        return ""
    made: str = segno.make(text, error="m").svg_inline(scale=6, border=4, light="white", dark="black", omitsize=True)
    return made.replace("<svg ", '<svg class="square" role="img" aria-label="The address as a square code" ', 1)
