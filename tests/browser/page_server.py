"""A page served by a thread of the tests' own process, and where its pages are."""

import re
import socket
import threading
import time
from datetime import date
from pathlib import Path
from typing import Any

import uvicorn

from tripplan.web.app import create_app

DAY = "/jobs/stop-2-home-yard"
PAGES = ("/", "/trip", "/jobs", DAY, "/water", "/why", "/home", "/item/front_wheel_bearings", "/hand-over", "/history", "/rig",
         "/saved")  # fmt: skip
WIDE = {"width": 1280, "height": 800}
PHONE = {"width": 360, "height": 740}
SIZES = {"phone": PHONE, "desk": WIDE}


class Served:
    """One folder served on a free port by a thread of this process."""

    def __init__(self, folder: Path, today: Any = None, background: bool = False) -> None:
        self.folder = folder
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.app = create_app(folder, today, background=background)
        settings = uvicorn.Config(self.app, host="127.0.0.1", port=self.port, log_level="error", access_log=False)
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

    def seen_from(self, day: date) -> None:
        """See the plan from that day, solved by rule alone."""
        self.app.state.desk.fixed_today = day

    def stop(self) -> None:
        """End the server."""
        self.server.should_exit = True
        self.thread.join(5)


def in_sight(page: Any, what: str, number: int = 0) -> Any:
    """The element of that selector and number, counted from 0, with all that it is folded into laid open."""
    found = page.locator(what).nth(number)
    found.evaluate(
        "e => { for (let f = e.closest('details'); f; f = f.parentElement.closest('details')) f.open = true; }"
    )
    return found


def unfold(page: Any, number: int = 0) -> Any:
    """Open that job of the day, counted from 0; what was found is entered in what is given back."""
    return in_sight(page, ".more .found", number)


def found(page: Any, number: int = 0) -> str:
    """What is entered as found there; empty when nothing is."""
    pressed = page.locator(".found").nth(number).locator(".find[aria-pressed=true]")
    return str(pressed.first.text_content()) if pressed.count() else ""


def goto_solved(page: Any, address: str) -> None:
    """Go there once the search is over: what is ticked before that may be no job of the solved plan."""
    end = time.monotonic() + 60
    page.goto(address)
    while not page.get_by_text("Shown: the solved plan").count() and time.monotonic() < end:
        page.wait_for_timeout(300)
        page.goto(address)


def from_demo(page: Any, there: Served, name: str) -> None:
    """Go through the first visit to a demo."""
    page.goto(f"{there.address}/")
    page.get_by_role("button", name=re.compile(name)).click()
    page.wait_for_url(f"{there.address}/")
