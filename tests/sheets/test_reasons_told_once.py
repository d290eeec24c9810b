"""The list of reasons behind the sheet: what water asks for is one line, as what to look for stands below each job."""

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.records.plan_work import Job
from tripplan.sheets.worksheet.job_words import reasons_of
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
