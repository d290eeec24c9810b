"""A headless browser for the tests of what people see: asked for nothing but local files."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

CANDIDATES = ("/usr/bin/chromium", "chromium", "chromium-browser")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def _missing(reason: str) -> None:
    """Skip on a desk without a browser; fail in continuous integration, where there must be one."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One browser for all tests of the session."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _missing("playwright is not installed")
    path = next((found for name in CANDIDATES if (found := shutil.which(name))), None)
    if path is None:
        _missing("no chromium on this machine")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield started
        started.close()
