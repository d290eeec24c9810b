"""The page in one hand: nothing jumps, the next job stays in view, one thing is open at a time, and pages are short."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.browser.page_server import DAY, PAGES, PHONE, Served, in_sight
from tests.support import good_folder
from tripplan.files.demos import DEMOS, copy_demo

SMALL = {"width": 320, "height": 640}  # the width to which WCAG 2.2, 1.4.10 wants a page to reflow; from memory
MOST_SCREENS = {"/trip": 4.5, "/history": 5.0, DAY: 4.5, "/": 5.5}
MOST_CONTROLS = {"/trip": 30, "/history": 45, DAY: 40, "/": 12}
CONTROLS = (
    "[...document.querySelectorAll('main :is(button, input:not([type=hidden]), select, textarea, summary)')]"
    ".filter(one => one.checkVisibility()).length"
)


@pytest.fixture
def hand(browser: Any, by_rule: None, tmp_path: Path) -> Iterator[Any]:
    """A phone at the smallest demo, to be written to."""
    copy_demo("after-crossing", tmp_path / "trip")
    there = Served(tmp_path / "trip", DEMOS["after-crossing"])
    page = browser.new_page(viewport=PHONE)
    page.set_default_timeout(20_000)
    page.there = there
    yield page
    page.close()
    there.stop()


def arrived(page: Any) -> None:
    """Wait until the answer to the last press has taken the page's place."""
    page.wait_for_function("() => !document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')")
    page.wait_for_load_state("networkidle")


def longest_group(page: Any) -> Any:
    """Open the group with the most jobs, and give its ticks."""
    page.evaluate("""() => [...document.querySelectorAll('.group')]
        .sort((a, b) => b.querySelectorAll('.tick').length - a.querySelectorAll('.tick').length)[0].open = true""")
    return page.locator(".group[open] .tick")


def test_a_tick_half_way_down_leaves_the_page_where_it_is(hand: Any) -> None:
    """Otherwise every tick would throw the reader to the end of the day."""
    hand.goto(hand.there.address + DAY)
    ticks = longest_group(hand)
    tick = ticks.nth(ticks.count() // 2)
    tick.evaluate("one => window.scrollTo(0, one.getBoundingClientRect().top + window.scrollY - 350)")
    before = hand.evaluate("window.scrollY")
    assert before > 100
    with hand.expect_response("**/jobs/*"):
        tick.click()
    arrived(hand)
    assert tick.get_attribute("aria-pressed") == "true"
    assert abs(hand.evaluate("window.scrollY") - before) <= 40  # the bar at the top may grow by a line
    assert abs(tick.bounding_box()["y"] - 350) <= 2


def test_the_next_job_is_done_from_the_bar_and_the_one_after_it_comes_into_view(hand: Any) -> None:
    """Otherwise the day would be scrolled through for each job, with dirty hands."""
    hand.goto(hand.there.address + DAY)
    for _ in range(3):
        told = hand.locator(".next-job a")
        old, box = told.inner_text(), hand.locator(".next-done").bounding_box()
        assert box["y"] >= 0 and box["y"] + box["height"] <= PHONE["height"]
        hand.locator(".next-done").click()
        hand.wait_for_function("old => document.querySelector('.next-job a').innerText !== old", arg=old)
        arrived(hand)
        job = hand.locator(hand.locator(".next-job a").get_attribute("href"))
        assert job.is_visible() and 0 <= job.bounding_box()["y"] < PHONE["height"]
    hand.mouse.wheel(0, 900)
    assert hand.locator(".next-done").bounding_box()["y"] >= 0
    assert hand.locator(".tick[aria-pressed=true]").count() == 3


def test_one_job_and_one_group_are_open_at_a_time(hand: Any) -> None:
    """Otherwise the page would grow under the hand until nothing is found again."""
    hand.goto(hand.there.address + DAY)
    longest_group(hand)
    assert hand.locator(".group[open]").count() == 1
    for number in range(2):
        hand.locator(".group[open] .more > summary").nth(number).click()
        assert hand.locator(".more[open]").count() == 1
    hand.goto(f"{hand.there.address}/trip")
    for name in ("#legs-2", "#legs-4"):
        hand.locator(f"{name} > summary").click()
        assert hand.locator(".row[open]").count() == 1


def test_a_finding_is_one_press_on_a_large_button(hand: Any) -> None:
    """Otherwise a list would have to be opened and hit with a thumb that holds a spanner too."""
    hand.goto(hand.there.address + DAY)
    button = in_sight(hand, ".found [data-word=worn]")
    box = button.bounding_box()
    assert box["height"] >= 44 and box["width"] >= 44
    button.click()
    hand.locator(".find[aria-pressed=true]").wait_for()
    arrived(hand)
    assert hand.locator(".entered").first.text_content() == "worn"
    hand.locator(".find[aria-pressed=true]").click()
    hand.locator(".find[aria-pressed=true]").wait_for(state="detached")


def test_a_whole_day_is_closed_with_one_press_and_the_odometer_is_asked_for_once(hand: Any) -> None:
    """Otherwise thirty jobs would be thirty presses, and the same figure would be typed again in the evening."""
    hand.goto(hand.there.address + DAY)
    hand.get_by_label("Odometer of").fill("198 100")
    hand.get_by_role("button", name="This day done").click()
    hand.get_by_role("heading", name="into the history: saved").wait_for()
    assert ",198100," in (hand.there.folder / "history.csv").read_text(encoding="utf-8")
    hand.goto(hand.there.address + DAY)
    assert hand.get_by_label("Odometer of").count() == 0
    assert "was read today: 198100 km" in hand.locator(".close").inner_text()


def test_the_save_stays_in_view(hand: Any) -> None:
    """Otherwise a change would be left unsaved at the end of a page that nobody scrolls to."""
    for path in ("/trip", "/history", "/rig"):
        hand.goto(hand.there.address + path)
        box = hand.get_by_role("button", name="Save and plan again").bounding_box()
        assert box["y"] + box["height"] <= PHONE["height"], path


def test_pages_are_short(hand: Any) -> None:
    """Otherwise a change of dust on one leg would be looked for on seventeen screens among three hundred boxes."""
    for path, most in MOST_SCREENS.items():
        hand.goto(hand.there.address + path)
        assert hand.evaluate("document.documentElement.scrollHeight") / PHONE["height"] <= most, path
        assert hand.evaluate(CONTROLS) <= MOST_CONTROLS[path], path


def test_the_pages_stand_in_one_line_that_is_pushed_sideways(hand: Any) -> None:
    """If they stood in three, a phone would show tabs where the next job should be; the open one is in sight, and all can be hit."""
    for path in ("/", "/rig"):
        hand.goto(hand.there.address + path)
        rail = hand.locator(".rail ol")
        assert rail.evaluate("one => one.scrollWidth > one.clientWidth && one.clientHeight < 70")
        boxes = [one.bounding_box() for one in rail.locator("a").all()]
        assert len({box["y"] for box in boxes}) == 1
        assert min(min(box["width"], box["height"]) for box in boxes) >= 44
        here = rail.locator(".here").bounding_box()
        assert here["x"] >= 0 and here["x"] + here["width"] <= PHONE["width"] + 1


def test_the_pages_can_be_hit_at_any_width(hand: Any) -> None:
    """If not, a tablet on the bench would ask for a clean fingertip (44 px: WCAG 2.2, 2.5.5, from memory)."""
    for width in (360, 700, 1280):
        hand.set_viewport_size({"width": width, "height": 800})
        hand.goto(hand.there.address + "/")
        boxes = [one.bounding_box() for one in hand.locator(".rail a").all()]
        assert boxes and min(min(box["width"], box["height"]) for box in boxes) >= 44, width


def test_an_unfinished_folder_makes_a_short_page_too(browser: Any, by_rule: None, tmp_path: Path) -> None:
    """Otherwise whoever has just begun would see twenty screens of what is not known yet."""
    folder = good_folder(tmp_path / "trip")
    head = (folder / "history.csv").read_text(encoding="utf-8").splitlines()[0]
    (folder / "history.csv").write_text(head + "\n", encoding="utf-8")
    there = Served(folder, date(2026, 6, 20))
    page = browser.new_page(viewport=PHONE)
    page.goto(f"{there.address}/")
    assert page.evaluate("document.documentElement.scrollHeight") / PHONE["height"] <= 6
    page.close()
    there.stop()


def test_no_page_is_pushed_sideways_on_the_smallest_screen(browser: Any, read_only: Served) -> None:
    """Otherwise words would have to be read by pushing the page to and fro."""
    page = browser.new_page(viewport=SMALL)
    for path in PAGES:
        page.goto(read_only.address + path)
        page.evaluate(
            "document.querySelectorAll('details').forEach(one => { one.removeAttribute('name'); one.open = true; })"
        )
        wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wider <= 0, path
    page.close()


@pytest.mark.parametrize(
    ("typed", "height", "said"),
    [("70 cm", 0.7, ""), ("0,7", 0.7, ""), ("70", 0.4, "“70” is not drawn"), ("deep", 0.4, "“deep” is not drawn")],
)
def test_the_drawing_follows_what_is_understood_and_says_what_is_not(
    browser: Any, read_only: Served, typed: str, height: float, said: str
) -> None:
    """Otherwise 70 would be drawn as nothing, and believed."""
    page = browser.new_page(viewport=PHONE)
    page.goto(f"{read_only.address}/water")
    page.get_by_label("Depth, m").fill(typed)
    assert float(page.locator("[data-water]").get_attribute("height")) == pytest.approx(height * 140)
    assert f"Drawn: water at {height:g} m" in page.locator("figcaption").inner_text()
    told = page.locator("[data-not-drawn]").inner_text()
    assert told.startswith(said) and bool(told) == bool(said)
    page.close()
