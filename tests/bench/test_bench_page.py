"""How long a press on Save takes in the page, and what it is made of; measured, never asserted.

The goal is that every change of a demo is planned again in under 300 ms: from the form sent
to the page that shows what moved, with the quick plan by the plain rule, as a browser gets it.
"""

import itertools
import re
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tripplan.files.demos import DEMOS, copy_demo
from tripplan.web.app import create_app
from tripplan.web.saves import saving

ADDRESS = "http://127.0.0.1:8765"


@pytest.fixture(params=sorted(DEMOS))
def page(request: pytest.FixtureRequest, tmp_path: Path) -> Any:
    """A page of a demo, read and planned once, with nothing solved beside it."""
    copy_demo(request.param, tmp_path / "trip")
    app = create_app(tmp_path / "trip", DEMOS[request.param])
    app.state.desk._solver.ask = lambda question, told: None
    client = TestClient(app, base_url=ADDRESS)
    client.get("/")
    return client


def form_of(html: str) -> dict[str, str]:
    """The fields of the trip form as they stand."""
    body = html[html.index("hx-post") :]
    fields = dict(re.findall(r'<input[^>]*? name="([^"]+)"[^>]*? value="([^"]*)"', body))
    for name, options in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', body, re.S):
        chosen = re.search(r"<option selected>(.*?)</option>", options)
        fields[name] = chosen.group(1) if chosen else ""
    return {name: value for name, value in fields.items() if not name.endswith(".out")}


def test_bench_save_a_leg(benchmark: Any, page: Any) -> None:
    """One cell of the last leg changed and saved, to the page that tells what moved."""
    speeds = itertools.cycle(range(35, 60))

    def typed() -> tuple[tuple[dict[str, str]], dict[str, Any]]:
        form = form_of(page.get("/trip").text)
        cell = [name for name in form if name.startswith("legs.") and name.endswith(".speed_kmh")][-2]
        return ({**form, cell: str(next(speeds)), "do": "save"},), {}

    def save(form: dict[str, str]) -> None:
        answer = page.post("/trip", data=form)
        assert answer.status_code == 200 and "said=" in str(answer.url)

    benchmark.pedantic(save, setup=typed, rounds=8, warmup_rounds=1)


@pytest.mark.parametrize("path", ["/", "/trip", "/jobs", "/history", "/rig"])
def test_bench_open_a_page(benchmark: Any, page: Any, path: str) -> None:
    """A page of a folder that has not changed."""
    benchmark.pedantic(page.get, args=(path,), rounds=8, warmup_rounds=1)


def test_bench_read_a_folder_again(benchmark: Any, page: Any) -> None:
    """The folder read and checked, of which one file changed."""
    desk = page.app.state.desk
    benchmark.pedantic(saving.reading_of, args=(desk.folder, desk.today), rounds=8, warmup_rounds=1)
