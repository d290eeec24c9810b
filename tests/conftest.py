"""A headless browser for the tests of what people see, and a line on what was not tested here."""

import gc
import os
import re
import shutil
from collections import Counter, deque
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.machine import CHROMIUM, font_settings
from tripplan.files import plan_folder
from tripplan.placing.greedy import place_greedily

try:
    from hypothesis import HealthCheck, settings
except ImportError:  # The extra `test` alone does not bring it; the tests that need it say so.
    pass
else:
    # The same cases for everybody, so that a change is judged by itself. TRIPPLAN_NEW_CASES=1 draws new ones: what
    # they find becomes a test of its own. How fast a case is drawn hangs on what else the machine does.
    settings.register_profile("same cases", derandomize=True, suppress_health_check=[HealthCheck.too_slow])
    if not os.environ.get("TRIPPLAN_NEW_CASES"):
        settings.load_profile("same cases")

# What is read and planned for many tests stays until the end: looking through it for rubbish again and again took a
# tenth of the time, and half of that of collecting.
gc.disable()
MOST_PLANS = 60
LARGE = re.compile(r"\[.*(outback|long-tour)|_200_positions")
MARKS = {"browser": pytest.mark.browser, "bench": pytest.mark.slow}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


@pytest.fixture(scope="session", autouse=True)
def plans_are_kept() -> None:
    """Equal records are planned once a session, not once a test: a folder of ten tests is solved once."""
    plan_folder._LAST_PLANS = deque(plan_folder._LAST_PLANS, maxlen=MOST_PLANS)


@pytest.fixture
def by_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plans are placed by the plain rule: for tests of what is done with a plan, not of how good it is."""
    monkeypatch.setattr(plan_folder.plan_of, "__defaults__", ((), place_greedily))
    monkeypatch.setattr(plan_folder, "place_unproven", place_greedily)


@pytest.fixture(scope="session")
def start() -> Iterator[Callable[..., Any]]:
    """Starts a browser that is asked for nothing but local files, with more environment variables if any."""
    driver = pytest.importorskip("playwright.sync_api")
    path = next((found for name in CHROMIUM if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium on this machine")
    with driver.sync_playwright() as playwright:
        yield lambda **more: playwright.chromium.launch(
            executable_path=path, args=ARGUMENTS, env={**os.environ, **more}
        )


@pytest.fixture(scope="session")
def browser(start: Callable[..., Any]) -> Iterator[Any]:
    """One browser for all tests of the session."""
    started = start()
    yield started
    started.close()


@pytest.fixture(scope="session")
def with_fonts(start: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[str], Any]]:
    """The browser as on a machine that has one set of fonts alone, by the name of the set."""
    started: dict[str, Any] = {}

    def only(name: str) -> Any:
        if name not in started:
            started[name] = start(FONTCONFIG_FILE=str(font_settings(name, tmp_path_factory.mktemp("fonts"))))
        return started[name]

    yield only
    for each in started.values():
        each.close()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks whole folders, what drives a browser and what measures speed; unmeasured, speed is tried on one demo alone."""
    for item in items:
        folder = item.path.parent.name
        if folder in MARKS:
            item.add_marker(MARKS[folder])
    if not config.getoption("benchmark_enable", False):
        large = [item for item in items if item.path.parent.name == "bench" and LARGE.search(item.name)]
        config.hook.pytest_deselected(items=large)
        items[:] = [item for item in items if item not in set(large)]


def pytest_collection_finish() -> None:
    """From here on rubbish is looked for, seldom, and not among what collecting has loaded."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
    gc.enable()


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """One line on what was skipped, so that green does not hide what nobody looked at."""
    skipped = terminalreporter.stats.get("skipped", [])
    reasons = Counter(str(report.longrepr[2]).removeprefix("Skipped: ") for report in skipped)
    if reasons:
        told = "; ".join(f"{reason} ({count})" for reason, count in sorted(reasons.items()))
        terminalreporter.write_line(f"Skipped, with the number of tests: {told}")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """In continuous integration all that tests need must be there: one skipped is one failed."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") == "true" and reporter is not None and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
