"""The page by itself: no other machine is ever asked, and what was entered outlives the server being killed."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.page_server import DAY, PAGES, PHONE, Served, found, from_demo, goto_solved, in_sight, unfold
from tripplan.files.demos import DEMOS, copy_demo

ROOT = Path(__file__).parents[2]


def test_no_other_machine_is_ever_asked(browser: Any, served: Served) -> None:
    """Otherwise the page would fail where there is no network, or tell somebody of the trip."""
    context = browser.new_context(viewport=PHONE)
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    from_demo(page, served, "after-crossing")
    served.seen_from(DEMOS["after-crossing"])
    for path in (*PAGES, "/start", "/nowhere"):
        page.goto(served.address + path)
        page.wait_for_load_state("networkidle")
    page.goto(served.address + DAY)
    page.locator(".tick").first.click()
    page.locator(".tick[aria-pressed=true]").first.wait_for()
    page.goto(f"{served.address}/trip")
    in_sight(page, "[name='legs.6.dust']").select_option("bulldust")
    page.get_by_role("button", name="Save and plan again").first.click()
    page.get_by_role("heading", name="The trip: saved.").wait_for()
    context.close()
    assert len(asked) > 40
    assert {url for url in asked if not url.startswith(f"{served.address}/")} == set()
    assert [line for line in said if "404" not in line] == []


def test_htmx_answers_the_forms(browser: Any, served: Served) -> None:
    """Otherwise each press would load the page anew, and the hand would lose its place."""
    page = browser.new_page()
    from_demo(page, served, "after-crossing")
    page.goto(served.address + DAY)
    page.evaluate("window.stillHere = true")
    page.locator(".tick").first.click()
    page.locator(".tick[aria-pressed=true]").first.wait_for()
    assert page.evaluate("window.stillHere") is True
    page.goto(f"{served.address}/trip")
    page.evaluate("window.stillHere = true")
    in_sight(page, "[name='legs.6.dust']").select_option("bulldust")
    page.get_by_role("button", name="Save and plan again").first.click()
    page.get_by_role("heading", name="The trip: saved.").wait_for()
    assert page.evaluate("window.stillHere") is True and "said=" in page.url
    page.close()


def test_nothing_entered_in_haste_is_lost(browser: Any, served: Served) -> None:
    """Otherwise a tick made before the last one was answered would vanish."""
    page = browser.new_page()
    from_demo(page, served, "after-crossing")
    page.goto(served.address + DAY)
    page.evaluate("""() => {
        const ticks = document.querySelectorAll('.tick'), found = document.querySelectorAll('.found');
        ticks[0].click(); ticks[1].click();
        found[0].querySelector('[data-word=worn]').click();
        found[2].querySelector('[data-word=water]').click();
        ticks[3].click();
    }""")
    page.locator(".tick[aria-pressed=true]").nth(2).wait_for(state="attached")
    page.goto(served.address + DAY)
    assert page.locator(".tick[aria-pressed=true]").count() == 3
    assert [found(page, n) for n in (0, 2)] == ["worn", "water"]
    page.close()


def test_what_is_typed_while_an_answer_comes_is_kept(browser: Any, served: Served) -> None:
    """Otherwise the note begun after a finding would vanish under the hand."""
    page = browser.new_page()
    from_demo(page, served, "after-crossing")
    goto_solved(page, served.address + DAY)
    page.route("**/jobs/*", lambda route: (time.sleep(0.7), route.continue_()))
    job = unfold(page)
    name = job.locator(".note-in").get_attribute("name")
    job.locator("[data-word=worn]").click()
    note = page.locator(f'.note-in[name="{name}"]')
    note.press_sequentially("growls", delay=60)
    note.press_sequentially(" at ninety", delay=200)
    page.locator(".found input[type=hidden][value=worn]").first.wait_for(state="attached")
    assert note.input_value() == "growls at ninety"
    note.blur()
    page.locator('.found input[type=hidden][value="growls at ninety"]').first.wait_for(state="attached")
    assert page.locator(".problems").count() == 0
    page.close()


def test_another_windows_finding_is_not_written_over(browser: Any, served: Served) -> None:
    """Otherwise what the phone entered would be lost to the desk, unseen."""
    one, two = browser.new_page(), browser.new_page()
    from_demo(one, served, "after-crossing")
    for page in (one, two):
        page.goto(served.address + DAY)
    unfold(one).locator("[data-word=worn]").click()
    one.locator(".found input[type=hidden][value=worn]").first.wait_for(state="attached")
    unfold(two).locator("[data-word=water]").click()
    told = two.get_by_role("alert")
    told.wait_for()
    assert "kept “worn”, yours was “water”" in told.inner_text()
    assert found(two) == "worn"
    one.close()
    two.close()


class Process:
    """`tripplan serve` in a process of its own, to be killed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        """Begin to serve, and wait until it answers."""
        day = DEMOS["after-crossing"].isoformat()
        words = ["-m", "tripplan", "serve", str(self.folder), "--port", str(self.port), "--today", day]
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        self.process = subprocess.Popen([sys.executable, *words], env=environment, stdout=subprocess.DEVNULL)
        end = time.monotonic() + 30
        while time.monotonic() < end:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise TimeoutError("the page did not begin")

    def kill(self) -> None:
        """End it without a word, as a flat battery would."""
        self.process.kill()
        self.process.wait()


@pytest.fixture
def mortal(tmp_path: Path) -> Iterator[Process]:
    """A page that can be killed."""
    copy_demo("after-crossing", tmp_path / "trip")
    process = Process(tmp_path / "trip")
    yield process
    process.kill()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal on this system")
def test_the_work_goes_on_after_the_server_was_killed(browser: Any, mortal: Process) -> None:
    """Otherwise a flat battery would cost the morning, or the open page would be refused ever after."""
    page = browser.new_page(viewport=PHONE)
    page.set_default_timeout(60_000)  # a server begins twice here, and a busy machine takes its time
    goto_solved(page, mortal.address + DAY)
    in_sight(page, ".tick").click()
    page.locator(".left", has_text="; 1 of ").wait_for()
    unfold(page).locator("[data-word=worn]").click()
    page.locator(".found input[type=hidden][value=worn]").first.wait_for(state="attached")
    mortal.kill()
    in_sight(page, ".tick", 1).click()
    unfold(page, 1).locator(".note-in").fill("stiff")
    page.get_by_text("Not saved yet: the page could not be reached").wait_for()
    mortal.start()
    page.locator(".unsaved").wait_for(state="detached")
    goto_solved(page, mortal.address + DAY)  # a server that begins shows the quick plan first
    page.locator('.found input[type=hidden][value="stiff"]').first.wait_for(state="attached")
    assert page.locator(".tick[aria-pressed=true]").count() == 2
    assert found(page) == "worn"
    page.get_by_role("button", name=re.compile("Put 2 jobs")).click()
    page.get_by_role("heading", name=re.compile("into the history: saved")).wait_for()
    mortal.kill()
    mortal.start()
    page.goto(f"{mortal.address}/saved")
    page.get_by_role("button", name=re.compile("Take this back")).first.click()
    page.get_by_role("heading", name=re.compile("taken back")).wait_for()
    goto_solved(page, mortal.address + DAY)
    assert page.locator(".tick[aria-pressed=true]").count() == 2
    page.close()
