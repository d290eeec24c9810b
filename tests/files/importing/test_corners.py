"""One side or one end of what is kept as a whole: asked, unless all are named or the end is its own. All cells are invented."""

from functools import lru_cache
from pathlib import Path

import pytest

from tests.files.importing.reading import asked, read_lines
from tripplan.files.data_tables import read_catalogue
from tripplan.files.importing.match import read_text
from tripplan.files.importing.word_book import WordBook, import_words, word_book


@lru_cache(maxsize=1)
def book() -> WordBook:
    """The words for a rig that has everything."""
    return word_book(import_words(), read_catalogue()[0], ())


def work(text: str) -> list[tuple[str, str, str | None, str | None]]:
    """Item, act, position and finding of all that is sure."""
    return [(one.item, one.act, one.position, one.finding) for one in read_text(text, book()).matches]


@pytest.mark.parametrize(
    ("text", "item", "said"),
    [
        ("LH shock absorber replaced", "shock_absorbers", "left"),
        ("rear left shock absorber replaced", "shock_absorbers", "rear left"),
        ("Left rear brake hose renewed", "brake_hoses_lines", "rear left"),
        ("Front U-joint greased", "propshaft_ujoints", "front"),
        ("Rear U-bolts tightened", "u_bolts", "rear"),
        ("both front shocks replaced", "shock_absorbers", "front"),
        ("rear shocks checked", "shock_absorbers", "rear"),
        ("Rear axle: shocks replaced", "shock_absorbers", "rear"),
        ("trailer: left spring checked", "trailer_springs", "left"),
        ("front trailer tyres checked", "trailer_tyres", "front"),
        ("LH rear shock, RH rear shock and LH front shock replaced", "shock_absorbers", "rear left"),
        ("front shocks perished bushes, replaced shocks", "shock_absorbers", "front"),
    ],
)
def test_a_part_of_the_whole_is_asked(text: str, item: str, said: str) -> None:
    """Otherwise the parts at the other corners would count as renewed, greased or looked at."""
    assert work(text) == []
    doubt = next(one for one in read_text(text, book()).doubts if one.some_of)
    assert doubt.candidates == (item,)
    assert doubt.why == f"{item} is kept as a whole here, the text names the {said} only: was all of it done? If not, leave this out"  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "front and rear shocks replaced", "front shocks replaced, rear shocks replaced", "shocks replaced left and right",
        "new shocks front and rear", "all four shocks replaced", "replaced shocks both sides",
        "LH front shock, RH front shock, LH rear shock and RH rear shock replaced",
    ],
)  # fmt: skip
def test_all_corners_are_the_whole(text: str) -> None:
    """Otherwise whoever names every corner would be asked whether it was all."""
    assert work(text) == [("shock_absorbers", "renew", None, None)]
    assert read_text(text, book()).doubts == ()


@pytest.mark.parametrize(
    ("text", "item", "position"),
    [
        ("rear diff oil changed", "rear_diff_oil", None), ("front brakes checked", "brake_pads_front", None),
        ("rear wheel bearing left repacked", "rear_wheel_bearings", "left"), ("front steering damper replaced", "steering_damper", None),
        ("rear handbrake adjusted", "park_brake", None), ("front wheel alignment", "alignment", None),
        ("LH swivel hub rebuilt", "swivel_knuckle_reseal", "left"), ("front winch checked", "winch", None),
    ],
)  # fmt: skip
def test_an_end_or_a_side_of_its_own_is_no_part(text: str, item: str, position: str | None) -> None:
    """Otherwise every front wheel bearing would be asked about."""
    assert [(one[0], one[2]) for one in work(text)] == [(item, position)]


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("left front brake pads and fuel filter replaced", ["brake_pads_front", "fuel_filter_main"]),
        ("front brake pads replaced and wheel nuts torqued", ["brake_pads_front", "wheel_nuts"]),
        ("left front brake pads and shock replaced", ["brake_pads_front"]),
        ("front brakes checked, unis greased", ["brake_pads_front", "propshaft_ujoints"]),
    ],
)
def test_a_side_or_an_end_is_carried_to_what_has_several(text: str, sure: list[str]) -> None:
    """Otherwise a filter would have a left side, or one shock of a list be all four."""
    assert [one[0] for one in work(text)] == sure


def test_the_other_end_is_another_thing() -> None:
    """Otherwise the slide pins of rear calipers would count as those of the front ones."""
    [doubt] = read_text("rear slide pins greased", book()).doubts
    assert doubt.why == "brake_slide_pins is at the front here, the text says rear"
    assert work("rear slide pins greased") == []


def test_findings_that_differ_are_not_put_together() -> None:
    """Otherwise the bad shocks at the rear would go under the good ones at the front."""
    assert work("front shocks checked, ok; rear shocks checked, leaking") == []
    assert [one.part for one in read_text("front shocks checked, ok; rear shocks checked, leaking", book()).doubts] == [
        "front shocks checked, ok", "rear shocks checked, leaking",
    ]  # fmt: skip
    assert work("front shocks leaking, replaced; rear shocks replaced") == [("shock_absorbers", "renew", None, "failed")]  # fmt: skip


def test_columns_of_a_grid_that_name_all_are_the_whole(tmp_path: Path) -> None:
    """Otherwise a grid with one column an end could never say that all was done."""
    rows = ("13/1/2021,5000,x,x", "14/1/2022,9000,x,")
    report = read_lines(tmp_path, "Date,Km,Front shocks replaced,Rear shocks replaced", *rows)
    assert [(row.item, row.act, row.date.year) for row in report.records] == [("shock_absorbers", "renew", 2021)]
    assert [question.row for question in report.questions] == [3]


def test_the_question_is_answered_by_item_and_act(tmp_path: Path) -> None:
    """Otherwise the answer would be asked again, and the work never stand in the history."""
    head = "Date,Km,Item,Position,Act"
    [told] = asked(read_lines(tmp_path, head, "13/1/2021,5000,shock rear,R,replaced"))
    assert "the rear right only: was all of it done?" in told
    [again] = asked(read_lines(tmp_path, head, "13/1/2021,5000,shock_absorbers,R,renew"))
    assert again.endswith("the right only: was all of it done? If not, leave this out. If so, empty the position")
    report = read_lines(tmp_path, head, "13/1/2021,5000,shock_absorbers,,renew")
    assert [(row.item, row.act) for row in report.records] == [("shock_absorbers", "renew")]


def test_a_note_of_a_part_is_asked_too(tmp_path: Path) -> None:
    """Otherwise work that only a note names would go unasked because it was done at one end."""
    report = read_lines(tmp_path, "Date,Km,Work,Note", "13/1/2021,5000,unis greased,rear shocks replaced")
    assert asked(report) == ["the note speaks of work; was shock_absorbers done?"]
