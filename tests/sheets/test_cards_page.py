"""`cards.html`: one A5 side a crossing, black on white, and never a word that water can be driven."""

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from tests.machine import FONT_SETS, sheets_of
from tests.support import TODAY, good_folder, replaced
from tripplan.explain.cards import CrossingCard, crossing_cards
from tripplan.files.demos import DEMOS
from tripplan.files.folder import load
from tripplan.files.plan_folder import quick_plan
from tripplan.planner import look_around
from tripplan.records.plan import Plan
from tripplan.sheets.cards_html import cards_html, changes, height_pt, size

DEMO = Path(__file__).parents[2] / "demo"


def made(folder: Path, today: Any = TODAY) -> tuple[Plan, tuple[CrossingCard, ...]]:
    """The quick plan and the cards of a folder."""
    inputs, catalogue, problems = load(folder, today)
    assert inputs is not None
    around = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, today)
    return quick_plan(inputs, catalogue, today, problems), crossing_cards(around)


@cache
def demo_cards(name: str) -> tuple[Plan, tuple[CrossingCard, ...]]:
    """The quick plan and the cards of a demo."""
    return made(DEMO / name, DEMOS[name])


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of the sample folder."""
    return cards_html(*made(good_folder(tmp_path_factory.mktemp("trip"))))


def test_the_caution_is_on_every_card(page: str) -> None:
    """Otherwise a card torn off the pile would read as leave to drive in."""
    assert page.count("<article") == page.count("No card says that water can be driven") == 1
    assert "neither walk nor drive in" in page


def test_nothing_says_that_a_crossing_is_safe(page: str) -> None:
    """Otherwise a number on a card could drown someone."""
    text = re.sub(r"<[^>]+>|\s+", " ", page).lower()
    assert not re.search(r"\bsafe(ly|r)?\b|can be crossed|ok to|may be driven|passable", text)


def test_published_figures_name_their_source(page: str) -> None:
    """Otherwise a figure would look like our own limit.

    weather.gov flood pages: 6 in and 12 in of moving water; wrl.unsw.edu.au, tests of 2017: 0.45 m at
    1 m/s, floats at 0.95 m (both read in part by the author of the notes they come from).
    """
    reasons = page[page.index("Reasons to turn round") :][:400]
    for figure, source in (("15 cm", "weather.gov"), ("30 cm", "weather.gov"), ("0.45 m", "wrl.unsw.edu.au")):
        assert figure in reasons and source in reasons


@pytest.mark.parametrize(
    ("water", "told"),
    [("fresh", "fresh, cool, up to 5 minutes"), ("muddy", "muddy, however short"), ("salt", "salt, however short")],
)
def test_a_card_speaks_of_its_own_water(tmp_path: Path, water: str, told: str) -> None:
    """Otherwise the box for the hubs would say fresh and cool of the sea, and nothing would be held to be as bad as it is.

    Planned at 0.4 m for 2 minutes: the hubs are at 0.395 m, the door sill at 0.56 m. Silt is hard on hubs however short it is.
    """
    folder = replaced(good_folder(tmp_path), "crossings.csv", "0.55,30,2,muddy", f"0.40,30,2,{water}")
    page = cards_html(*made(folder))
    boxes = re.findall(r"<dt><i></i>(At the hubs: [^<]*?), \d[^<]*</dt><dd>(.*?)</dd>", page)
    assert [box for box, _ in boxes] == [f"At the hubs: {told}"]
    assert ("As planned." in boxes[0][1]) == (water != "muddy") and page.count("As planned.") == 1


def test_words_of_the_owner_are_escaped(tmp_path: Path) -> None:
    """Otherwise a place name could break the page."""
    folder = replaced(good_folder(tmp_path), "legs.csv", "Two Wells,Red Pan", "Two Wells,Red <b>Pan</b>")
    replaced(folder, "legs.csv", "3,Red Pan", "3,Red <b>Pan</b>")
    assert "Red &lt;b&gt;Pan&lt;/b&gt;" in cards_html(*made(folder))


def test_without_crossings_the_page_says_so(tmp_path: Path) -> None:
    """Otherwise an empty page would look like a fault."""
    folder = good_folder(tmp_path)
    (folder / "crossings.csv").unlink()
    plan, found = made(folder)
    assert "No crossing is planned" in cards_html(plan, found)
    assert "not worked out" in cards_html(plan, None)


def test_the_page_asks_nothing_of_a_network(page: str) -> None:
    """Otherwise it would not open where there is no signal."""
    assert not re.search(r"https?://|<script|<link|@import|url\(", page)


def test_no_colour_is_needed(page: str) -> None:
    """Otherwise red print would vanish under a red torch."""
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", page)) <= {"#000", "#fff"}


@pytest.mark.browser
@pytest.mark.parametrize("fonts", sorted(FONT_SETS))
@pytest.mark.parametrize("name", sorted(DEMOS))
def test_each_card_fits_one_a5_side(with_fonts: Any, tmp_path: Path, name: str, fonts: str) -> None:
    """Otherwise half of a card would be on a sheet left in the printer, by the letters of the machine at hand."""
    plan, found = demo_cards(name)
    path = tmp_path / "cards.html"
    path.write_text(cards_html(plan, found), encoding="utf-8")
    page = with_fonts(fonts).new_page(viewport={"width": 360, "height": 740})
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    pdf = page.pdf(prefer_css_page_size=True)
    page.close()
    assert sheets_of(pdf) == len(found) > 0
    width, height = (float(x) for x in re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)", pdf)[0])
    assert (width, height) == pytest.approx((419.5, 595.3), abs=1)  # A5, ISO 216: 148 x 210 mm


@pytest.mark.browser
@pytest.mark.parametrize("fonts", sorted(FONT_SETS))
def test_a_card_with_more_to_say_is_set_smaller_and_still_fits(with_fonts: Any, tmp_path: Path, fonts: str) -> None:
    """Otherwise long names of places, or a rig with more on it, would push a card over its side."""
    plan, found = demo_cards("outback")
    fullest = max(found, key=lambda card: height_pt(card, 9))
    long = "The ford below the old pumping station, second fence past the tank and the windmill " * 2
    cases = tuple(replace(case, places=tuple(replace(p, place=long) for p in case.places)) for case in fullest.cases)
    more = replace(fullest, from_=long, to=long, cases=cases)
    assert size(more) < size(fullest)
    path = tmp_path / "cards.html"
    path.write_text(cards_html(plan, [more, more]), encoding="utf-8")
    page = with_fonts(fonts).new_page()
    page.goto(path.as_uri())
    assert sheets_of(page.pdf(prefer_css_page_size=True)) == 2
    page.close()


@pytest.mark.browser
def test_print_is_large_enough_for_a_torch(browser: Any, tmp_path: Path) -> None:
    """Otherwise nobody could read it at night. At least 9 pt: judgement, no source."""
    plan, found = demo_cards("outback")
    path = tmp_path / "cards.html"
    path.write_text(cards_html(plan, found), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    page.emulate_media(media="print")
    sizes = "[...document.querySelectorAll('.card dd')].map(e => parseFloat(getComputedStyle(e).fontSize))"
    pixels = page.evaluate(sizes)
    page.close()
    assert min(pixels) * 72 / 96 >= 9


def test_what_a_case_changes_reads_as_sentences() -> None:
    """Otherwise a line would begin with a small letter behind a full stop."""
    told = [text for card in demo_cards("outback")[1] for _, text in changes(card)]
    assert any(text.startswith("No stop in time to repack") for text in told) and all(
        text[0].isupper() for text in told
    )
