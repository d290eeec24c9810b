"""The page as it is used: the three uses as a person walks through them, on a desk, on a phone and on paper."""

import re
import shutil
import socket
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from tripplan.edges.demos import DEMOS, copy_demo
from tripplan.web.app import create_app

pytestmark = pytest.mark.browser
DAY = "/jobs/stop-2-home-yard"
PAGES = ("/", "/trip", "/jobs", DAY, "/water", "/why", "/item/front_wheel_bearings", "/hand-over")
WIDE = {"width": 1280, "height": 800}
PHONE = {"width": 360, "height": 740}


class Served:
    """One folder served on a free port by a thread of this process."""

    def __init__(self, folder: Path, today: Any = None, background: bool = False) -> None:
        self.folder = folder
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        app = create_app(folder, today, background=background)
        settings = uvicorn.Config(app, host="127.0.0.1", port=self.port, log_level="error", access_log=False)
        self.server = uvicorn.Server(settings)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        end = time.monotonic() + 10
        while not self.server.started and time.monotonic() < end:
            time.sleep(0.02)

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self.port}"

    def stop(self) -> None:
        """End the server."""
        self.server.should_exit = True
        self.thread.join(5)


@pytest.fixture(scope="module")
def read_only(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The smallest demo, for tests that only look."""
    folder = tmp_path_factory.mktemp("page") / "trip"
    copy_demo("after-crossing", folder)
    served = Served(folder, DEMOS["after-crossing"])
    yield served
    served.stop()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A new folder that is not there yet."""
    there = Served(tmp_path / "trip", background=True)
    yield there
    there.stop()


@pytest.fixture
def desk(browser: Any) -> Iterator[Any]:
    """A page on a desk that keeps what went wrong in `said`."""
    context = browser.new_context(viewport=WIDE)
    page = context.new_page()
    page.said = []
    page.on("pageerror", lambda error: page.said.append(str(error)))
    page.on("console", lambda message: page.said.append(message.text) if message.type == "error" else None)
    page.set_default_timeout(20_000)
    yield page
    context.close()


def from_demo(page: Any, there: Served, name: str) -> None:
    """Go through the first visit to a demo."""
    page.goto(f"{there.address}/")
    page.get_by_role("button", name=re.compile(name)).click()
    page.wait_for_url(f"{there.address}/")


def test_planning_a_trip_on_a_desk(desk: Any, served: Served) -> None:
    """Otherwise the first use, planning a trip into remote country, would not work from its first visit on."""
    from_demo(desk, served, "outback")
    assert desk.get_by_role("img", name=re.compile("Trip line")).first.is_visible()
    desk.get_by_role("link", name="The trip").click()
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
    desk.goto(served.address + DAY)
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
    assert desk.locator(".left b").inner_text() != left
    desk.keyboard.press("Tab")
    desk.keyboard.type("wor")
    desk.keyboard.press("Tab")
    desk.locator(".one input[type=hidden][value=worn]").first.wait_for(state="attached")
    desk.goto(served.address + DAY)
    assert desk.locator(".tick").first.get_attribute("aria-pressed") == "true"
    assert desk.locator(".one select").first.input_value() == "worn"
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
    assert "0.9 m deep as crossed" in page.locator("#now + article").inner_text()
    assert "safe" not in page.locator("main").inner_text().lower()
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
    page.locator(".tick[aria-pressed=true]").first.wait_for()
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


def test_a_day_prints_on_up_to_three_sheets(browser: Any, read_only: Served) -> None:
    """Otherwise the shed would be papered with one day's work."""
    page = browser.new_page()
    page.goto(read_only.address + DAY)
    pdf = page.pdf(prefer_css_page_size=True)
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 3
    page.emulate_media(media="print")
    assert not page.locator(".rail").is_visible() and page.locator(".tick").first.is_visible()
    page.close()


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The rules of axe-core, taken from its registry by its ordinary client; skipped without it."""
    if shutil.which("npm") is None:
        pytest.skip("no npm on this machine, so axe-core is not run")
    place = tmp_path_factory.mktemp("axe")
    command = ["npm", "install", "--silent", "--no-audit", "--no-fund", "--prefer-offline", "axe-core@4"]
    done = subprocess.run(command, cwd=place, capture_output=True, timeout=60, check=False)
    path = place / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode or not path.is_file():
        pytest.skip("axe-core could not be installed, so it is not run")
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize(("scheme", "paths"), [("light", (*PAGES, "/start")), ("dark", ("/trip", "/water"))])
def test_axe_finds_nothing(browser: Any, read_only: Served, axe: str, scheme: str, paths: tuple[str, ...]) -> None:
    """Otherwise somebody who reads with ears or needs contrast would be shut out (axe-core's own rules)."""
    context = browser.new_context(viewport=WIDE, color_scheme=scheme, bypass_csp=True)
    page = context.new_page()
    found = []
    for path in paths:
        page.goto(read_only.address + path)
        page.evaluate(axe)
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        found += [f"{path}: {one['id']} {one['nodes'][0]['html'][:120]}" for one in result["violations"]]
    assert found == []
    context.close()
