"""The whole job without a mouse: by keyboard on a desk, by finger on a phone."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.page_server import DAY, PHONE, Served, from_demo, unfold

MOST_TABS = 700


def reach(page: Any, what: str, tag: str = "") -> None:
    """Press Tab until what has the focus answers to this name, and is seen to have it."""
    page.wait_for_load_state("load")
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        name = page.evaluate(
            "(e => e.getAttribute('aria-label') || (e.labels && e.labels[0] && e.labels[0].innerText) || e.innerText || '')"
            "(document.activeElement)"
        )
        if re.search(what, name) and tag in ("", page.evaluate("document.activeElement.tagName")):
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
            return
    raise AssertionError(f"{what} was never reached by Tab")


def test_the_whole_job_by_keyboard(desk: Any, served: Served) -> None:
    """Otherwise somebody who cannot use a mouse could not plan, work, record water or hand over."""
    press, words = desk.keyboard.press, desk.keyboard.type
    desk.goto(f"{served.address}/")
    reach(desk, "Copy “after-crossing”")
    press("Enter")
    desk.wait_for_url(f"{served.address}/")
    reach(desk, "^The trip$")
    press("Enter")
    desk.wait_for_url("**/trip")
    reach(desk, "^dust, row 6$")
    words("bull")
    reach(desk, "^Save and plan again$")
    press("Enter")
    desk.get_by_role("heading", name="The trip: saved.").wait_for()
    assert "What moved" in desk.locator(".told").inner_text()
    reach(desk, "^The rig$")
    press("Enter")
    desk.wait_for_url("**/rig")
    reach(desk, "Heights above ground", "SUMMARY")
    press("Enter")
    reach(desk, "^Alternator$")
    words("900")
    reach(desk, "^Save and plan again$")
    press("Enter")
    desk.get_by_role("heading", name="The rig: saved.").wait_for()
    reach(desk, "^Work$")
    press("Enter")
    desk.wait_for_url("**/jobs")
    reach(desk, "^Stop, Home yard")
    press("Enter")
    desk.wait_for_url(f"**{DAY}")
    reach(desk, "^(Work the|Look at|Measure|Repack|Renew|Grease|Clean|Adjust) ", "BUTTON")
    press("Space")
    desk.locator(".tick[aria-pressed=true]").first.wait_for()
    desk.locator(".left", has_text="; 1 of ").wait_for()  # what the server made of it stands there
    reach(desk, "", "SUMMARY")
    press("Enter")
    reach(desk, "^serviceable$")
    press("Space")
    desk.locator(".found input[type=hidden][value=serviceable]").first.wait_for(state="attached")
    reach(desk, "^Note: ")
    words("dry inside")
    reach(desk, "^Put . job")
    press("Enter")
    desk.get_by_role("heading", name=re.compile("into the history: saved")).wait_for()
    reach(desk, "^After water$")
    press("Enter")
    desk.wait_for_url("**/water")
    for label, text in (("^Depth, m", "0.9"), ("^Minutes in the water", "3")):
        reach(desk, label)
        words(text)
    reach(desk, "fresh")
    press("ArrowDown")
    reach(desk, "^Leg$")
    words("2, ")
    reach(desk, "^Km from the start")
    words("60")
    desk.locator("#at_time").focus()
    words("1130AM")
    reach(desk, "^Record it")
    press("Enter")
    desk.get_by_role("heading", name=re.compile("Crossing on leg 2: saved")).wait_for()
    assert "0.9 m" in desk.locator("#now + details").inner_text()
    reach(desk, "^Hand over$")
    press("Enter")
    desk.wait_for_url("**/hand-over")
    if not desk.get_by_role("link", name="Calendar file").is_visible():
        desk.get_by_role("link", name="The solved plan is ready").wait_for(timeout=60_000)
        reach(desk, "^The solved plan is ready")
        press("Enter")
        desk.get_by_role("link", name="Calendar file").wait_for()
    reach(desk, "^Calendar file$")
    with desk.expect_download() as taken:
        press("Enter")
    assert taken.value.suggested_filename == "calendar.ics"
    assert desk.said == []


@pytest.fixture
def phone(browser: Any) -> Iterator[Any]:
    """A phone with a finger on it."""
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, color_scheme="dark")
    page = context.new_page()
    page.set_default_timeout(20_000)
    yield page
    context.close()


def is_held(page: Any) -> bool:
    """Whether the page fits its window, so that no finger pushes it sideways."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"))


def test_planning_on_a_phone(phone: Any, served: Served) -> None:
    """Otherwise a change of plans in camp would wait for a desk."""
    from_demo(phone, served, "outback")
    assert phone.get_by_role("img", name=re.compile("^The way of")).is_visible() and is_held(phone)
    phone.get_by_role("link", name="The rig").tap()
    phone.get_by_role("heading", name=re.compile("^Heights above ground")).first.tap()
    phone.get_by_label("Alternator", exact=True).fill("900")
    phone.get_by_role("button", name="Save and plan again").first.tap()
    phone.get_by_role("heading", name="The rig: saved.").wait_for()
    phone.get_by_role("link", name="History").tap()
    phone.get_by_label("date, new row 1", exact=True).fill("2026-05-24")
    phone.get_by_label("unit, new row 1", exact=True).fill("wagon")
    phone.get_by_label("odometer, km, new row 1", exact=True).fill("47190")
    phone.get_by_label("act, new row 1", exact=True).fill("reading")
    phone.get_by_role("button", name="Save and plan again").tap()
    phone.get_by_role("heading", name="The history: saved.").wait_for()
    assert is_held(phone)
    phone.get_by_role("button", name="Take this back").tap()
    phone.get_by_role("heading", name="The history, taken back.").wait_for()


def test_a_day_of_work_on_a_phone(phone: Any, served: Served) -> None:
    """Otherwise the sheet could not be used with dirty hands, under the car."""
    from_demo(phone, served, "long-tour")
    phone.locator(".next a").tap()
    phone.wait_for_url("**/jobs/*")
    left = phone.locator(".left b").inner_text()
    phone.locator(".tick").first.tap()
    phone.wait_for_function("old => document.querySelector('.left b').innerText !== old", arg=left)
    unfold(phone).locator("[data-word='as new']").tap()
    phone.locator(".found input[type=hidden][value='as new']").first.wait_for(state="attached")
    phone.reload()
    assert phone.locator(".tick").first.get_attribute("aria-pressed") == "true" and is_held(phone)
    phone.locator(".tick").first.tap()
    phone.wait_for_function("old => document.querySelector('.left b').innerText === old", arg=left)
    phone.locator(".tick").first.tap()
    phone.locator(".tick[aria-pressed=true]").first.wait_for()
    phone.get_by_role("button", name=re.compile("Put 1 job into the history")).tap()
    phone.get_by_role("heading", name=re.compile("into the history: saved")).wait_for()


def test_a_number_opens_to_its_rows_and_sources(phone: Any, served: Served) -> None:
    """Otherwise a number would have to be believed."""
    from_demo(phone, served, "after-crossing")
    phone.get_by_role("link", name="Why", exact=True).tap()
    phone.get_by_role("heading", name=re.compile("^Lasts the trip")).tap()
    phone.get_by_role("link", name=re.compile("^Front differential oil")).first.tap()
    phone.get_by_role("heading", name="Rows behind this").wait_for()
    assert "history.csv row" in phone.locator(".rows").inner_text()
    assert phone.get_by_role("heading", name="Sources").is_visible() and is_held(phone)
