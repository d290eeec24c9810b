"""What a press on Print gives: one to three A4 sheets of every page, of every demo; four for more than forty-five jobs."""

import re
from pathlib import Path
from typing import Any

import pytest

from tests.browser.page_server import Served
from tests.machine import FONT_SETS, sheets_of
from tripplan.files.demos import DEMOS, copy_demo

PRINTED = ("/", "/trip", "/jobs", "/water", "/why", "/home", "/hand-over", "/history", "/rig")
A4_POINTS = (595, 842)
MANY_JOBS = 45  # what waits for home after a long tour is a list for weeks, not one day's sheet


@pytest.mark.parametrize("name", sorted(DEMOS))
def test_every_page_prints_on_one_to_three_sheets(by_rule: None, browser: Any, tmp_path: Path, name: str) -> None:
    """Otherwise the shed would be papered with one day's work, or a job would be missing on the sheet."""
    copy_demo(name, tmp_path / "trip")
    there = Served(tmp_path / "trip", DEMOS[name])
    page = browser.new_page()
    page.goto(f"{there.address}/jobs")
    days = [link.get_attribute("href") for link in page.locator(".track h2 a").all()]
    jobs = {
        f"/jobs/{slot['id']}": len(slot["jobs"])
        for slot in page.request.get(f"{there.address}/plan.json").json()["slots"]
    }
    assert set(days) >= {path for path, count in jobs.items() if count}
    long = {}
    for path in (*PRINTED, *days):
        page.goto(there.address + path)
        pdf = page.pdf(prefer_css_page_size=True)
        sheets = sheets_of(pdf)
        boxes = {
            tuple(round(float(n)) for n in box.split()[2:]) for box in re.findall(rb"/MediaBox\s*\[([\d. ]+)\]", pdf)
        }
        assert boxes == {A4_POINTS}
        if not 1 <= sheets <= (3 if jobs.get(path, 0) <= MANY_JOBS else 4):
            long[path] = sheets
    page.close()
    there.stop()
    assert long == {}


def test_a_printed_day_has_its_ticks_and_cautions(browser: Any, read_only: Served) -> None:
    """Otherwise the sheet would be a picture of a page, not a thing to work from."""
    page = browser.new_page()
    page.goto(f"{read_only.address}/jobs/stop-2-home-yard")
    count = page.locator(".tick").count()
    page.emulate_media(media="print")
    assert not page.locator(".rail").is_visible() and not page.locator(".close").is_visible()
    assert page.locator(".tick:visible").count() == page.locator(".one .line:visible").count() == count
    assert page.locator(".care-in:visible").count() > 3
    page.close()


def test_the_sheets_of_a_page_do_not_depend_on_the_letters_of_the_machine(with_fonts: Any, read_only: Served) -> None:
    """Otherwise a page that fits on a sheet here would take two in another shed."""
    counts = {}
    for name in FONT_SETS:
        page = with_fonts(name).new_page()
        counts[name] = {}
        for path in PRINTED:
            page.goto(read_only.address + path)
            counts[name][path] = sheets_of(page.pdf(prefer_css_page_size=True))
        page.close()
    assert counts["wide"] == counts["narrow"]
