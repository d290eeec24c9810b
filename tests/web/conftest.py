"""One page of a demo folder for each test, and ways to press its buttons as a browser would."""

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.support import good_folder
from tripplan.files.demos import DEMOS, copy_demo
from tripplan.web.app import create_app

ADDRESS = "http://127.0.0.1:8765"


class Visitor:
    """A browser at the page of one folder."""

    def __init__(self, folder: Path, today: date | None, **more: Any) -> None:
        self.folder = folder
        self.app = create_app(folder, today, background=False, **more)
        self.client = TestClient(self.app, base_url=ADDRESS)

    def get(self, path: str, **more: Any) -> Any:
        """Open a page."""
        return self.client.get(path, **more)

    def token(self) -> str:
        """The token that forms of this browser carry."""
        found = re.search(r'name="csrf" value="(\w+)"', self.client.get("/trip").text)
        assert found
        return found.group(1)

    def post(self, path: str, fields: dict[str, Any], **more: Any) -> Any:
        """Send a form of ours."""
        return self.client.post(path, data={"csrf": self.token(), **fields}, **more)

    def form(self, path: str) -> dict[str, str]:
        """Every field of the page's first form as it stands, to be changed and sent."""
        html = self.client.get(path).text
        body = html[re.search("hx-post|data-at-once", html).start() :]  # type: ignore[union-attr]
        fields = dict(re.findall(r'<input[^>]*? name="([^"]+)"[^>]*? value="([^"]*)"', body))
        fields |= {name: value for value, name in re.findall(r'value="([^"]*)" name="([^"]+)"', body)}
        for name, options in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', body, re.S):
            chosen = re.search(r"<option selected>(.*?)</option>|<option(?: selected)>(.*?)</option>", options)
            fields[name] = chosen.group(1) if chosen else ""
        return {name: value for name, value in fields.items() if not name.endswith(".out")}


Visits = Callable[..., Visitor]


def visits(folder: Path) -> Visits:
    """Lets a test visit a demo's folder, seen from the demo's day; without a name, an empty one."""

    def at(name: str = "", **more: Any) -> Visitor:
        if name == "good":
            return Visitor(good_folder(folder), date(2026, 6, 20), **more)
        if name:
            copy_demo(name, folder)
        return Visitor(folder, DEMOS.get(name), **more)

    return at


@pytest.fixture
def visit(by_rule: None, tmp_path: Path) -> Visits:
    """Visits where plans are placed by the plain rule, which looks the same and is at hand at once."""
    return visits(tmp_path / "trip")


@pytest.fixture
def visit_solved(tmp_path: Path) -> Visits:
    """Visits where plans are solved."""
    return visits(tmp_path / "trip")


@pytest.fixture
def wet(visit: Visits) -> Visitor:
    """The visitor to the smallest demo."""
    return visit("after-crossing")
