"""The work sheet on the screen, on paper and as text: nothing lost, nothing hidden, in order."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from lxml import html

from tests.sample_plan import many_items, sample_plan
from tripplan.edges.summary_text import terminal_summary
from tripplan.edges.work_order import CROSSING_NOTE, by_window, groups, unmet
from tripplan.edges.worksheet_html import worksheet_html
from tripplan.edges.worksheet_text import worksheet_text
from tripplan.plan import DUE, Plan


def page(plan: Plan) -> html.HtmlElement:
    """The page as a tree."""
    return html.document_fromstring(worksheet_html(plan))


def words(text: str) -> str:
    """A text with every run of white space as one blank."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def tree() -> html.HtmlElement:
    """The page of the sample."""
    return page(sample_plan())


def both() -> list[str]:
    """The sheet in its two forms, as running words."""
    plan = sample_plan()
    return [words(page(plan).find(".//main").text_content()), words(worksheet_text(plan))]


@pytest.mark.parametrize("form", [0, 1])
def test_every_job_with_cautions_and_signs(form: int) -> None:
    """Otherwise somebody would lie under the car without the caution in front of them."""
    told = both()[form]
    for slot in sample_plan().slots:
        for job in slot.jobs:
            assert f"{job.act.capitalize()}: {job.name}" in told
            for line in (*job.cautions, job.early_signs, job.why):
                assert line[1:].rstrip(".") in told
        for step in slot.opened:
            assert step.words in told


@pytest.mark.parametrize("form", [0, 1])
def test_warnings_stand_in_full_before_the_work(form: int) -> None:
    """Otherwise the owner would start work without having read what cannot be met."""
    told, plan = both()[form], sample_plan()
    start = told.index("The work, in order")
    for warning in (*plan.warnings, *plan.ways_out):
        assert told.index(warning) < start
    problem = plan.problems[0]
    for part in (problem.place, problem.code, problem.found, problem.accepted, problem.hint):
        assert told.index(part) < start
    for item in unmet(plan):
        assert told.index(item.name) < start


@pytest.mark.parametrize("form", [0, 1])
def test_work_stands_in_the_order_of_time_and_opening(form: int) -> None:
    """Otherwise a wheel would come off twice."""
    told = both()[form]
    told = told[told.index("The work, in order") :]
    order = [
        "Open: tray off", "Drain and refill: Engine oil", "Close again: wagon, engine sump",
        "Open: guard off", "Sat 27 June 2026", "Open: wheel off, on stands", "Open: caliper hung",
        "Measure: Front brake pads, left", "Repack: Front wheel bearings, left",
        "Close again: wagon, front wheel end, left", "Repack: Front wheel bearings, right", "Departure",
        "Stop, Dry Box Station", "Stop, Saltbush Crossing", "Return", "Renew: Main fuel filter",
    ]  # fmt: skip
    places = []
    for text in order:
        places.append(told.index(text, places[-1] if places else 0))
    assert places == sorted(places)


@pytest.mark.parametrize("form", [0, 1])
def test_a_crossing_is_never_called_safe(form: int) -> None:
    """Otherwise the sheet would talk the owner into the water."""
    told = both()[form]
    assert CROSSING_NOTE in told
    assert not re.search(
        r"\b(safe|safely|passable|drivable|shallow enough|no problem)\b", told, re.IGNORECASE
    )


def test_water_acts_by_window_most_pressing_first() -> None:
    """Otherwise what must be done at the bank would be found at the next town."""
    acts = sample_plan().crossings[0].acts
    windows = [window for window, _ in by_window(reversed(acts))]
    assert windows == [
        "at the bank",
        "same night",
        "within 3 days or 500 km",
        "before the next remote leg",
        "later",
    ]


def test_nothing_is_collapsed_and_nothing_is_fetched(tree: html.HtmlElement) -> None:
    """Otherwise a warning could stay folded away, or the sheet fail without a network."""
    assert not tree.xpath("//details | //script | //link | //img | //iframe | //*[@hidden]")
    assert not re.search(r"(?:src|href)=[\"'](?!#)", worksheet_html(sample_plan()))
    assert not re.search(r"url\(|@import", worksheet_html(sample_plan()))


def test_page_says_its_structure(tree: html.HtmlElement) -> None:
    """Otherwise a screen reader could not walk the sheet (WCAG 2.2: 1.3.1, 2.4.2, 3.1.1, from memory)."""
    assert tree.get("lang") == "en"
    assert "Käferbach" in tree.findtext(".//title")
    assert len(tree.xpath("//main")) == 1
    levels = [int(node.tag[1]) for node in tree.xpath("//h1 | //h2 | //h3 | //h4")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = tree.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_every_tick_box_has_a_label(tree: html.HtmlElement) -> None:
    """Otherwise a tick could not be told apart from its neighbour."""
    boxes = tree.xpath("//input")
    labels = {label.get("for"): words(label.text_content()) for label in tree.xpath("//label")}
    assert len(boxes) > 30
    assert all(box.get("type") == "checkbox" and labels.get(box.get("id")) for box in boxes)


def test_hostile_text_stays_text() -> None:
    """Otherwise a note in somebody's history could run in the owner's browser."""
    plan = sample_plan()
    bad = '</style><script>alert(1)</script>"\x00'
    job = replace(plan.slots[0].jobs[0], name=bad, why=bad, cautions=(bad,), early_signs=bad)
    hostile = replace(
        plan, trip=bad, rig=bad, warnings=(bad,), walkround=(bad,), assumptions=(bad,), product_rule=bad,
        slots=(replace(plan.slots[0], jobs=(job,), place=bad), *plan.slots[1:]),
        items=tuple(replace(item, name=bad) for item in plan.items),
        legs=tuple(replace(leg, from_=bad, to=bad) for leg in plan.legs),
    )  # fmt: skip
    text = worksheet_html(hostile)
    assert "<script" not in text and "\x00" not in text and text.count("</style>") == 1


def test_text_sheet_fits_78_columns_of_plain_marks() -> None:
    """Otherwise the sheet would break on a small screen or be read aloud as noise."""
    for plan in (sample_plan(), many_items(60)):
        lines = worksheet_text(plan).splitlines()
        assert max(map(len, lines)) <= 78
        assert not any("\u2500" <= mark <= "\u257f" for line in lines for mark in line)
    assert worksheet_text(sample_plan()).count("[ ]") > 30


def test_a_plan_with_nothing_in_it_still_gives_a_sheet() -> None:
    """Otherwise an owner with an empty history would get a failure instead of a plan."""
    empty = replace(
        sample_plan(), legs=(), items=(), slots=(), crossings=(), rechecks=(), walkround=(), shopping=(),
        carry=(), orders=(), warnings=(), ways_out=(), problems=(), assumptions=(),
    )  # fmt: skip
    told = words(page(empty).text_content())
    assert "No warnings" in told and "No warnings" in worksheet_text(empty)
    assert terminal_summary(empty)


def test_groups_keep_openings_that_have_no_job() -> None:
    """Otherwise minutes would be counted for an opening nobody is told of."""
    slot = replace(sample_plan().slots[1], jobs=())
    assert [len(group.opened) for group in groups(slot)] == [2, 2]
    assert sum(group.minutes for group in groups(slot)) == sum(step.minutes for step in slot.opened)


def test_group_minutes_add_up_to_the_slot() -> None:
    """Otherwise the sheet would promise a shorter day than planned."""
    slot = sample_plan().slots[0]
    assert sum(group.minutes for group in groups(slot)) == sum(
        part.minutes for part in (*slot.jobs, *slot.opened)
    )


def test_summary_fits_80_columns_and_names_what_is_due() -> None:
    """Otherwise the owner would miss at the terminal what must be done before departure."""
    plan = sample_plan()
    told = terminal_summary(plan)
    assert max(map(len, told.splitlines())) <= 80
    for item in plan.items:
        if item.verdict == DUE:
            assert item.name in told
    for warning in plan.warnings:
        assert warning in words(told)
    assert "Not met" in told and "Rear spring bushes: look" in told
