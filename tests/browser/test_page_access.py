"""Every page for everybody: axe-core's rules in light and dark, on a phone and on a desk."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.page_server import DAY, PAGES, SIZES, Served, in_sight
from tests.support import replaced
from tripplan.files.demos import DEMOS, copy_demo

ALL_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
OF_COLOUR = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}


@pytest.fixture(params=sorted(SIZES))
def judged(browser: Any, axe: str, request: pytest.FixtureRequest) -> Any:
    """A page in one size, and what axe-core finds on it as it stands: all rules in light, those of colour in dark."""
    size = request.param
    context = browser.new_context(viewport=SIZES[size], bypass_csp=True, has_touch=size == "phone")
    page = context.new_page()

    def found() -> list[str]:
        page.evaluate(axe)
        page.evaluate("window.scrollTo(0, document.body.scrollHeight)")  # what stays in view covers nothing there
        told = []
        for scheme, rules in (("dark", OF_COLOUR), ("light", ALL_RULES)):
            page.emulate_media(color_scheme=scheme)
            broken = page.evaluate(f"axe.run(document, {{resultTypes: ['violations'], runOnly: {rules}}})")[
                "violations"
            ]
            told += [f"{page.url} {scheme}: {one['id']} {one['nodes'][0]['html'][:140]}" for one in broken]
        return told

    yield page, found
    context.close()


Judged = tuple[Any, Callable[[], list[str]]]


def test_no_page_shuts_anybody_out(judged: Judged, read_only: Served) -> None:
    """Otherwise somebody who reads with ears or needs contrast could not use it."""
    page, found = judged
    told = []
    for path in (*PAGES, "/nowhere", "/files/worksheet.html", "/files/cards.html"):
        page.goto(read_only.address + path)
        page.evaluate(
            "document.querySelectorAll('details').forEach(one => { one.removeAttribute('name'); one.open = true; })"
        )
        told += found()
    assert told == []


def test_no_refusal_shuts_anybody_out(judged: Judged, served: Served) -> None:
    """Otherwise what went wrong could be told to some only: a wrong cell, two tabs, a save, a folder that cannot be planned."""
    page, found = judged
    page.goto(f"{served.address}/start")
    told = found()
    page.get_by_label("Time zone at home").fill("Nowhere")
    page.get_by_role("button", name="Make the folder").click()
    page.locator(".problems").wait_for()
    told += found()
    copy_demo("after-crossing", served.folder)
    served.seen_from(DEMOS["after-crossing"])
    page.goto(f"{served.address}/trip")
    speed = in_sight(page, "[aria-label='speed, km/h, row 6']")
    speed.fill("5O")
    page.get_by_role("button", name="Save and plan again").first.click()
    page.locator(".problems").wait_for()
    told += found()
    replaced(served.folder, "stops.csv", "Home yard", "Home shed")
    speed = in_sight(page, "[aria-label='speed, km/h, row 6']")
    speed.fill("50")
    page.get_by_role("button", name="Save and plan again").first.click()
    page.get_by_role("heading", name="Saved elsewhere meanwhile").wait_for()
    told += found()
    page.get_by_role("button", name="Save and plan again").first.click()
    page.get_by_role("heading", name="The trip: saved.").wait_for()
    told += found()
    page.goto(served.address + DAY)
    page.locator(".tick").first.click()
    page.locator(".tick[aria-pressed=true]").first.wait_for()
    told += found()
    replaced(served.folder, "legs.csv", "1,Bracken", "x,Bracken")
    for path in ("/", "/trip", "/rig", "/history"):
        page.goto(served.address + path)
        told += found()
    assert told == []
