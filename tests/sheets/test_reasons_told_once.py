"""What the sheet says once: the reasons behind it, heights that nobody gave, and what waits."""

from datetime import date
from pathlib import Path

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.files.folder import load
from tripplan.files.plan_folder import quick_plan
from tripplan.records.plan_work import Job
from tripplan.sheets.worksheet import wall
from tripplan.sheets.worksheet.html import worksheet_html
from tripplan.sheets.worksheet.job_words import reasons_of
from tripplan.sheets.worksheet.text import worksheet_text
from tripplan.sheets.worksheet.waits import waits
from tripplan.sheets.worksheet.work_blocks import AFTER_WATER, slot_sheet


def test_a_crossing_is_told_once_for_all_that_it_asks_for() -> None:
    """If not, a reader would find “milky grease at a cup” given as the reason for greasing a joint, job after job."""
    plan = sample_plan()
    first: Job = plan.slots[0].jobs[0]
    jobs = tuple(
        replace(first, kind=AFTER_WATER, item=name, name=name, cause=sign, why=f"{sign} (crossing at trip km 95)",
                crossing_km=95.0)
        for name, sign in (("joints", "rust at a cup"), ("pins", "grit"))
    )  # fmt: skip
    sheet = slot_sheet(replace(plan.slots[0], jobs=jobs), 20.0, False)
    told = reasons_of(sheet)
    assert [why for why, _ in told] == ["Asked for by the crossing at trip km 95."] and len(told[0][1]) == 2


NO_RECORD = Path(__file__).parents[1] / "folders" / "no_record"


def test_a_sheet_says_nothing_about_heights_and_waiting_twice_over() -> None:
    """If it did, a page of a rig bought without papers would be the same two lists, for each file and each crossing."""
    today = date(2026, 6, 1)
    inputs, catalogue, problems = load(NO_RECORD, today)
    assert inputs is not None and {one.code for one in problems} == {"R16"}
    plan = quick_plan(inputs, catalogue, today, problems)
    full, first = waits(plan), wall.not_done(plan)
    assert len(plan.crossings) > 1 and set(full) & set(first)
    for told in (worksheet_text(plan), worksheet_html(plan)):
        words = " ".join(told.split())
        assert words.count("brake reservoir cap") <= 3  # page one, on the road, the crossings in full
        assert "R16" not in words and "heights_mm" not in words
        assert words.count("left shut until a look finds") == 1
    assert set(wall.waits_behind(plan)) == set(full) - set(first)
