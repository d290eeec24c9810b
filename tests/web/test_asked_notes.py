"""Words of wear in a note are asked about on the page too, once, with the finding they propose."""

import re
from collections.abc import Callable

import pytest

from tests.web.conftest import Visitor

ROW = {"date": "2026-06-17", "unit": "wagon", "act": "grease", "item": "propshaft_ujoints"}
ASKED = "was the finding worn?"


def told(visitor: Visitor, **more: str) -> str:
    """The page after a new row of the history was saved."""
    fields = {f"history.new1.{column}": text for column, text in {**ROW, **more}.items()}
    return visitor.post("/history", visitor.form("/history") | fields | {"do": "save"}).text


@pytest.mark.parametrize(
    ("more", "is_asked"),
    [
        ({"note": "a bit notchy"}, True),
        ({"note": "a bit notchy", "finding": "worn"}, False),
        ({"note": "not worn"}, False),
        ({"note": "two strokes each"}, False),
    ],
)
def test_a_saved_row_with_words_of_wear_is_asked_about(
    visit: Callable[..., Visitor], more: dict[str, str], is_asked: bool
) -> None:
    """Otherwise a worn joint would go on a remote trip as a note that nobody reads."""
    shown = told(visit("good"), **more)
    assert (ASKED in shown) == is_asked
    assert "saved." in shown


def test_rows_that_were_not_touched_are_not_asked_about_again(visit: Callable[..., Visitor]) -> None:
    """Otherwise every save would ask about years of old notes."""
    visitor = visit("good")
    assert ASKED in told(visitor, note="a bit notchy")
    assert ASKED not in told(visitor, note="nothing to say", item="winch", act="look")


def test_a_day_that_is_closed_is_asked_about(visit: Callable[..., Visitor]) -> None:
    """Otherwise what was noted with greasy hands would be recorded without its finding."""
    visitor = visit("good")
    path = "/jobs/workshop-2026-06-21"
    page = visitor.get(path).text
    keys = re.findall(r'name="note\.([^"]*)"', page)
    whole = re.findall(r'name="tick_all" value="([^"]*)"', page)[-1]
    visitor.post(path, {"tick_all": whole})
    visitor.post(path, {f"note.{keys[0]}": "weeping", f"was_note.{keys[0]}": ""})
    shown = visitor.post(f"{path}/close", {"date": "2026-06-20", "unit": "wagon"}).text
    assert len(re.findall(r"the note says (?:'|&#39;)weeping(?:'|&#39;)", shown)) == 1
