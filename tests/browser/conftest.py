"""Pages to look at and pages to write to, and a browser that keeps what went wrong."""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.page_server import WIDE, Served
from tripplan.files.demos import DEMOS, copy_demo

AXE = "axe-core@4.14.1"


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


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The rules of axe-core, taken from its registry by its ordinary client; it must run in continuous integration."""
    if shutil.which("npm") is None:
        pytest.skip("no npm on this machine, so axe-core is not run")
    place = tmp_path_factory.mktemp("axe")
    command = ["npm", "install", "--silent", "--no-audit", "--no-fund", "--prefer-offline", AXE]
    done = subprocess.run(command, cwd=place, capture_output=True, timeout=120, check=False)
    path = place / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode or not path.is_file():
        pytest.skip("axe-core could not be installed, so it is not run")
    return path.read_text(encoding="utf-8")
