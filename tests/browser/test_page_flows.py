"""The page as it is used: the three uses as a person walks through them, on a desk and on a phone."""

import re
from datetime import date
from typing import Any

import pytest

from tests.browser.page_server import DAY, PAGES, PHONE, WIDE, Served, found, from_demo, goto_solved


def test_planning_a_trip_on_a_desk(desk: Any, served: Served) -> None:
    """Otherwise the first use, planning a trip into remote country, would not work from its first visit on."""
    from_demo(desk, served, "outback")
    assert desk.get_by_role("img", name=re.compile("Trip line")).first.is_visible()
    desk.get_by_role("link", name="The trip", exact=True).click()
    cell = desk.get_by_label("dust, row 4", exact=True)
    cell.select_option("bulldust")
    desk.get_by_role("button", name="Save and plan again").first.click()
    desk.get_by_role("heading", name="The trip: saved.").wait_for()
    assert "What moved" in desk.locator(".told").inner_text()
    assert desk.get_by_label("dust, row 4", exact=True).input_value() == "bulldust"
    desk.get_by_role("button", name="Take this back").click()
    desk.get_by_role("heading", name="The trip, taken back.").wait_for()
    assert desk.get_by_label("dust, row 4", exact=True).input_value() == "light"
    assert desk.said == []


def test_scheduling_work_by_keyboard_alone(desk: Any, served: Served) -> None:
    """Otherwise work could not be ticked off without a mouse, or a reload would lose it."""
    from_demo(desk, served, "after-crossing")
    goto_solved(desk, served.address + DAY)
    tick = desk.locator(".tick").first
    name = tick.get_attribute("aria-label")
    for _ in range(80):
        desk.keyboard.press("Tab")
        if desk.evaluate("document.activeElement.className") == "tick":
            break
    assert desk.evaluate("document.activeElement.getAttribute('aria-label')") == name
    left = desk.locator(".left b").inner_text()
    desk.keyboard.press("Space")
    desk.locator(".tick[aria-pressed=true]").first.wait_for()
    assert desk.evaluate("document.activeElement.getAttribute('aria-label')") == name
    desk.wait_for_function("old => document.querySelector('.left b').innerText !== old", arg=left)
    desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    for _ in range(3):
        desk.keyboard.press("Tab")
    assert desk.evaluate("document.activeElement.dataset.word") == "worn"
    desk.keyboard.press("Space")
    desk.locator(".found input[type=hidden][value=worn]").first.wait_for(state="attached")
    desk.goto(served.address + DAY)
    assert desk.locator(".tick").first.get_attribute("aria-pressed") == "true"
    assert found(desk) == "worn"
    desk.get_by_role("button", name=re.compile("Put 1 job into the history")).press("Enter")
    desk.get_by_role("heading", name=re.compile("into the history: saved")).wait_for()
    assert desk.said == []


def test_after_a_deep_crossing_on_a_phone(browser: Any, served: Served) -> None:
    """Otherwise the answer on the track would not come on the phone at hand."""
    context = browser.new_context(viewport=PHONE, color_scheme="dark")
    page = context.new_page()
    page.set_default_timeout(20_000)
    from_demo(page, served, "after-crossing")
    page.goto(f"{served.address}/water")
    water = page.locator("[data-water]")
    shallow = float(water.get_attribute("height"))
    page.get_by_label("Depth, m").fill("0.9")
    assert float(water.get_attribute("height")) > shallow
    assert "alternator" in page.locator("[data-under]").inner_text()
    page.get_by_label("Minutes in the water").fill("3")
    page.get_by_label("muddy").check()
    page.get_by_label("Leg", exact=True).select_option("2")
    page.get_by_label("Km from the start").fill("60")
    page.locator("#at_day").fill("2026-08-15")
    page.locator("#at_time").fill("11:30")
    page.get_by_role("button", name="Record it").click()
    page.get_by_role("heading", name=re.compile("Crossing on leg 2: saved")).wait_for()
    assert "0.9 m deep as crossed" in page.locator("#now + details").inner_text()
    assert "safe" not in page.locator("main").inner_text().lower()
    context.close()


def test_a_planned_crossing_is_recorded_in_few_taps(browser: Any, served: Served) -> None:
    """Otherwise it would be left for the evening: it was 14 taps, the keys of the numbers among them."""
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.set_default_timeout(20_000)
    from_demo(page, served, "after-crossing")
    served.seen_from(date(2026, 8, 31))
    page.get_by_role("link", name="After water").tap()
    page.get_by_role("group", name="Round depths").get_by_role("button", name="0.5").tap()
    assert "hub centre" in page.locator("[data-under]").inner_text()
    page.get_by_role("group", name="Round minutes").get_by_role("button", name="5", exact=True).tap()
    page.get_by_label("muddy").tap()
    leg = page.locator("#leg option:checked")
    assert leg.inner_text().startswith("5,") and "chosen for you" in page.locator("#leg + small").inner_text()
    page.get_by_role("button", name="Record it").tap()  # the fifth tap
    page.get_by_role("heading", name=re.compile("Crossing on leg 5: saved")).wait_for()
    assert "0.5 m deep as crossed" in page.locator("#now + details").inner_text()
    context.close()


@pytest.mark.parametrize("size", [PHONE, WIDE], ids=["phone", "desk"])
def test_no_page_runs_off_its_window(browser: Any, read_only: Served, size: dict[str, int]) -> None:
    """Otherwise words would be cut off, or the phone would scroll sideways."""
    page = browser.new_page(viewport=size)
    for path in PAGES:
        page.goto(read_only.address + path)
        wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wider <= 0, path
    page.close()


def test_pages_are_read_without_script(browser: Any, read_only: Served) -> None:
    """Otherwise an old phone with script off would show nothing."""
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    for path in PAGES:
        page.goto(read_only.address + path)
        assert page.locator("h1").first.is_visible()
    page.goto(f"{read_only.address}/water?depth=0.7")
    assert page.locator(".point.under").count() > 3
    context.close()


def test_a_tick_is_kept_without_script(browser: Any, served: Served) -> None:
    """Otherwise work could not be entered with script off."""
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    from_demo(page, served, "after-crossing")
    page.goto(served.address + DAY)
    page.locator(".tick").first.click()
    page.locator(".tick[aria-pressed=true]").first.wait_for(state="attached")
    assert page.locator(".tick").first.get_attribute("aria-pressed") == "true"
    context.close()


def test_everything_pressed_is_large_enough(browser: Any, read_only: Served) -> None:
    """Otherwise dirty hands would miss it (WCAG 2.2, 2.5.8: 24 px; ticks of ours 44 px; from memory)."""
    page = browser.new_page(viewport=PHONE)
    page.goto(read_only.address + DAY)
    small = page.evaluate(
        "[...document.querySelectorAll('button, select, input:not([type=hidden])')].filter(one => one.offsetParent)"
        ".map(one => Math.min(one.getBoundingClientRect().width, one.getBoundingClientRect().height))"
    )
    assert min(small) >= 24
    box = page.locator(".tick").first.bounding_box()
    assert min(box["width"], box["height"]) >= 44
    page.close()
