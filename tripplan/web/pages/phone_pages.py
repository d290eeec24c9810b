"""Records of a phone, taken in by the page: pasted, as a file, or read from squares where the browser can read them."""

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from tripplan.commands import field_records
from tripplan.records.problems import BadInput, Problem
from tripplan.sheets import words
from tripplan.web.forms.fields import Form, after, last, poster, typed_problem
from tripplan.web.pages.render import page
from tripplan.web.pages.trip_pages import desk_of

routes = APIRouter()
post = poster(routes)
PATH = "/from-phone"
SENT = "the phone's records"


@routes.get(PATH)
def from_phone(request: Request) -> Response:
    """Where the records of a phone are given."""
    return RedirectResponse("/start", 303) if desk_of(request).is_new else _shown(request)


@post(PATH, files=1)
def take(request: Request, form: Form) -> Response:
    """Take them in, each once; what was not taken is told."""
    desk, (name, content), text = desk_of(request), request.state.sent, last(form, "text")
    raw = content or text.encode("utf-8", "replace")
    if not raw:
        return _shown(request, [typed_problem("text", "nothing", "the text from the phone, pasted or as a file")], 422)
    with desk.writing():
        try:
            number, document = desk.record(
                lambda: field_records.take_text(desk.folder, raw, name or SENT, None, desk.recorded_from, True),
                "Records from the phone",
            )
        except BadInput as error:
            return _shown(request, error.problems, 422, text)
    left = [Problem(**one) for one in document["not_taken"]]
    if not left:
        return after(PATH, number)
    taken = len(document["rows"]) + len(document["crossings"]) + document["notes"]
    return _shown(
        request, left, note=f"{words.count(taken, 'record was', 'records were')} taken in; what is listed here was not."
    )


def _shown(
    request: Request, problems: Sequence[Problem] = (), status: int = 200, text: str = "", note: str = ""
) -> Response:  # fmt: skip
    return page(request, "from_phone.html.j2", status, title="From the phone", problems=problems, text=text, note=note)
