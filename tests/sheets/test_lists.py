"""The two spreadsheets, read back with the csv module of the standard library."""

import csv
import io

import pytest
from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.sheets.lists import neutral, shopping_csv, tasks_csv


def rows(text: str) -> list[dict[str, str]]:
    """The rows of a CSV text by column name."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_one_row_a_job_in_working_order() -> None:
    """Otherwise a job would be missing from the owner's list or stand in the wrong order."""
    plan = sample_plan()
    found = rows(tasks_csv(plan))
    assert len(found) == sum(len(slot.jobs) for slot in plan.slots)
    first = [row for row in found if row["slot"] == plan.slots[0].id]
    assert [row["order"] for row in first] == ["1", "2", "3", "4", "5"]
    assert first[0]["item"] == "Engine oil and filter" and first[0]["minutes"] == "30"
    assert first[0]["job"] == "Drain and refill engine oil and filter"
    assert first[2]["opened"] == "wheel, drum and hub off"
    assert list(found[0]) == [
        *[
            "slot",
            "date",
            "place",
            "order",
            "unit",
            "item",
            "position",
            "act",
            "minutes",
            "opened",
            "materials",
            "why",
            "if_left_out",
            "job",
        ]
    ]


def test_shopping_says_when_and_by_when() -> None:
    """Otherwise a part would be ordered too late."""
    found = rows(shopping_csv(sample_plan()))
    assert [row["when"] for row in found] == ["before", "before", "stop", "carry", "carry"]
    assert found[1]["order_by"] == "2026-06-12" and found[3]["order_by"] == ""
    assert list(found[0]) == [
        "when",
        "what",
        "quantity",
        "unit",
        "jobs",
        "order_by",
        "packs",
        "pack",
        "pack_holds",
        "cost",
        "send_to",
    ]


# The marks that start a formula: OWASP "CSV Injection" page, from memory.
@pytest.mark.parametrize("mark", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_starts_a_formula(mark: str) -> None:
    """Otherwise a name in somebody's history could run a command on the owner's machine."""
    plan = sample_plan()
    slot = replace(plan.slots[0], place=f"{mark}1+1", jobs=(replace(plan.slots[0].jobs[0], why=f"{mark}A1"),))
    text = tasks_csv(replace(plan, slots=(slot,)))
    assert all(not cell.startswith(tuple("=+-@\t\r")) for row in rows(text) for cell in row.values())
    assert rows(text)[0]["place"].startswith("'")


def test_harmless_cells_stay_as_they_are() -> None:
    """Otherwise every cell would carry a quote that nobody typed."""
    assert neutral("Hub seal - left") == "Hub seal - left"
    assert neutral(12.5) == 12.5
    assert neutral(" =1") == "' =1"


def test_commas_quotes_and_line_ends_stay_in_their_cell() -> None:
    """Otherwise one job would spill into two rows."""
    plan = sample_plan()
    job = replace(plan.slots[0].jobs[0], name='Oil, "thick"\nand filter')
    found = rows(tasks_csv(replace(plan, slots=(replace(plan.slots[0], jobs=(job,)),))))
    assert len(found) == 1 and found[0]["item"] == 'Oil, "thick"\nand filter'


def test_a_plan_without_work_still_has_its_header() -> None:
    """Otherwise an empty plan would give a file no spreadsheet opens."""
    plan = replace(sample_plan(), slots=(), shopping=(), carry=())
    assert tasks_csv(plan).startswith("slot,date,place,order,unit") and rows(tasks_csv(plan)) == []
    assert shopping_csv(plan) == "when,what,quantity,unit,jobs,order_by,packs,pack,pack_holds,cost,send_to\n"
