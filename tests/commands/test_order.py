"""What is ordered is written once, with the day it comes, and the plans after that count on it."""

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.support import TODAY, good_folder
from tripplan.commands.order import order
from tripplan.commands.sources import in_folder
from tripplan.explain.orders import to_order
from tripplan.files.folder import load
from tripplan.files.logbook.book import take_in
from tripplan.files.plan_folder import quick_plan, read

DAY, COMES = str(TODAY), "2026-06-20"


def ask(folder: Path, capsys: pytest.CaptureFixture[str], *names: str, **more: Any) -> tuple[int, dict[str, Any]]:
    """The command with its JSON."""
    status = order(folder, names, more.get("everything", False), more.get("arrives"), DAY, True)
    return status, json.loads(capsys.readouterr().out)


def shelf(folder: Path) -> list[dict[str, str]]:
    """The rows of shelf.csv."""
    with (folder / "shelf.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_what_is_ordered_is_on_the_list_no_more(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If it were, it would be ordered twice, and the work that waits for it would move from plan to plan."""
    folder = good_folder(tmp_path / "trip")
    _, before = ask(folder, capsys)
    first, *rest = before["to_order"]
    assert first["jobs"] and first["order_by"] and not (folder / "shelf.csv").exists()
    status, told = ask(folder, capsys, first["what"].upper(), arrives=COMES)
    row = {**{key: first[key] for key in ("what", "quantity", "unit_of_measure")}, "arrives": COMES}
    assert (status, told["ordered"], shelf(folder)) == (0, [row], [row])
    _, after = ask(folder, capsys)
    assert [one["what"] for one in after["to_order"]] == [one["what"] for one in rest]
    ask(folder, capsys, everything=True, arrives=COMES)
    assert ask(folder, capsys)[1]["to_order"] == [] and len(shelf(folder)) == len(before["to_order"])


def test_each_thing_is_listed_once_with_all_that_is_wanted_of_it() -> None:
    """If not, five seals would be ordered where two go in at home and three are carried."""
    inputs, catalogue, problems = read(Path(__file__).parents[2] / "demo" / "outback", date(2026, 5, 25))
    assert inputs is not None
    plan = quick_plan(inputs, catalogue, date(2026, 5, 25), problems)
    wanted: dict[str, float] = {}
    for need in (*plan.shopping, *plan.carry):
        if need.order_by is not None:
            wanted[need.name] = wanted.get(need.name, 0.0) + need.quantity
    found = {part.what: part.quantity for part in to_order((*plan.shopping, *plan.carry))}
    assert found == wanted and len(found) > 5
    days = [part.order_by for part in to_order((*plan.shopping, *plan.carry))]
    assert days == sorted(days)


def test_a_name_that_is_not_on_the_list_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If it did, a slip of the pen would be counted on. Each such name is told at once."""
    folder = good_folder(tmp_path / "trip")
    known = ask(folder, capsys)[1]["to_order"][0]["what"]
    status, told = ask(folder, capsys, known, "moon dust", "sun dust", arrives=COMES)
    assert (status, [one["found"] for one in told["problems"]]) == (2, ["moon dust", "sun dust"])
    assert not (folder / "shelf.csv").exists()


@pytest.mark.parametrize(
    ("names", "more", "code"),
    [(("hub inner seal",), {"everything": True, "arrives": COMES}, "A18"), ((), {"arrives": COMES}, "A06"),
     ((), {"everything": True}, "A06"), ((), {"everything": True, "arrives": "soon"}, "A01")],
)  # fmt: skip
def test_half_an_order_is_refused(
    names: tuple[str, ...], more: dict[str, Any], code: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """If it were not, a day would be guessed on which nothing comes."""
    folder = good_folder(tmp_path / "trip")
    status, told = ask(folder, capsys, *names, **more)
    assert (status, told["problems"][0]["code"]) == (2, code)
    assert not (folder / "shelf.csv").exists()


def test_a_shelf_that_is_there_keeps_its_rows(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If it did not, an order would cost the owner the list of the whole shed."""
    folder = good_folder(tmp_path / "trip")
    name = ask(folder, capsys)[1]["to_order"][0]["what"]
    (folder / "shelf.csv").write_text("what,quantity,unit_of_measure\nrag,50,piece\n", encoding="utf-8")
    assert ask(folder, capsys, name, arrives=COMES)[0] == 0
    rows = shelf(folder)
    assert rows[0] == {"what": "rag", "quantity": "50", "unit_of_measure": "piece", "arrives": ""}
    assert (rows[1]["what"], rows[1]["arrives"]) == (name, COMES)


def test_a_logbook_keeps_what_was_ordered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If it did not, the rig in one file would order everything again."""
    folder = good_folder(tmp_path / "trip")
    take_in(tmp_path / "rig.logbook", folder, TODAY)
    run = lambda trip: order(trip, (), True, COMES, DAY, True)  # noqa: E731
    assert in_folder(tmp_path / "rig.logbook", True, run, keep=True) == 0
    written = json.loads(capsys.readouterr().out)["ordered"]
    seen: list[int] = []

    def look(trip: Path) -> int:
        inputs, _, _ = load(trip, TODAY)
        assert inputs is not None
        seen.append(len(inputs.kit.shelf))
        return 0

    in_folder(tmp_path / "rig.logbook", True, look)
    assert seen == [len(written)] and written


def test_the_list_is_told_by_days(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """If not, the most pressing order would have to be looked for."""
    folder = good_folder(tmp_path / "trip")
    assert order(folder, (), False, None, DAY, False) == 0
    told = capsys.readouterr().out
    assert told.startswith("To order by ") and max(map(len, told.splitlines())) <= 80
    assert order(folder, (), True, COMES, DAY, False) == 0
    assert "Written to shelf.csv, to arrive on 20 June 2026" in " ".join(capsys.readouterr().out.split())
    assert order(folder, (), False, None, DAY, False) == 0
    assert capsys.readouterr().out.strip() == "Nothing is to be ordered."
