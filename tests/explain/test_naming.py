"""Whether a unit has to be named: asked of the rig, and told the sheets with the plan."""

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tests.small import camper, rig, wagon
from tripplan.explain.naming import is_one_unit
from tripplan.sheets.worksheet import work_order


def test_a_unit_without_a_job_is_still_a_unit() -> None:
    """If not, sentences would name the wagon where the sheet does not, as soon as all of the trailer is left out."""
    plan = sample_plan()
    of_one = replace(plan, items=tuple(item for item in plan.items if item.unit == "wagon"))
    assert {item.unit for item in of_one.items} == {"wagon"}
    assert work_order.has_units(of_one) and work_order.main_unit(of_one) == "wagon"
    alone = replace(plan, units=("wagon",))
    assert not work_order.has_units(alone) and work_order.main_unit(alone) is None


def test_the_rig_says_whether_it_is_one_unit() -> None:
    """If the jobs said it, a line of the same plan could name the unit and the next leave it out."""
    assert is_one_unit(rig(wagon())) and not is_one_unit(rig(wagon(), camper()))
