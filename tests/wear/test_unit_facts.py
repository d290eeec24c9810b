"""What must be known of each unit before items can be chosen."""

import pytest

from tests.small import camper, leg, rig, tables, thing, trip, wagon
from tripplan.records.facts_in import Unit
from tripplan.wear import unit_facts

HUBS = thing("hubs", needs="drive=part-time; hubs=free-wheeling")
WINCH = thing("winch", needs="fitted=winch")
BOWL = thing("bowl", needs="fuel=diesel")


def told(*units: Unit) -> list[tuple[str, str | None]]:
    """Code and column of each problem."""
    return [(one.code, one.column) for one in unit_facts.check_unit_facts(rig(*units), tables(HUBS, WINCH, BOWL))]


def test_a_whole_unit_has_no_problem() -> None:
    """If it had, nobody could begin."""
    assert told(wagon()) == told(wagon(), camper()) == told(wagon(fitted=("winch",))) == []


@pytest.mark.parametrize(
    ("units", "problems"),
    [
        ((wagon(usual_km_per_week=None),), [("R15", "unit[1].usual_km_per_week")]),
        ((wagon(), camper(usual_km_per_week=None)), [("R15", "unit[2].usual_km_per_week")]),
        ((wagon(usual_km_per_week=0),), []),
        ((wagon(fitted=("winch", "rocket")),), [("R17", "unit[1].fitted")]),
        ((wagon(), camper(fitted=("winch",))), [("R17", "unit[2].fitted")]),  # no item of a trailer needs it
        ((wagon(fuel="deisel"),), [("R21", "unit[1].fuel")]),
        ((wagon(fuel="petrol"),), []),
        ((wagon(fuel="lpg"), camper(fuel="none")), []),  # no item of a trailer needs a fuel
        ((wagon(fuel=None),), [("R12", "unit[1].fuel")]),
        ((wagon(hubs=None),), [("R12", "unit[1].hubs")]),
        ((wagon(hubs=None, drive="full-time"),), []),  # no question without part-time drive
        ((wagon(hubs=None, drive=None),), [("R12", "unit[1].drive")]),
    ],
)
def test_what_is_not_known_is_asked(units: tuple[Unit, ...], problems: list[tuple[str, str]]) -> None:
    """If not, items would be left out in silence, or asked for that nothing depends on."""
    assert told(*units) == problems


@pytest.mark.parametrize(
    ("units", "codes"),
    [
        ((wagon(), camper()), []),
        ((camper(),), ["R10"]),
        ((wagon(), wagon(id="truck")), ["R10"]),
        ((wagon(), camper(id="wagon")), ["R11"]),
        ((wagon(), camper(), camper(), camper()), ["R11", "R11"]),
    ],
)
def test_one_vehicle_and_an_id_for_each(units: tuple[Unit, ...], codes: list[str]) -> None:
    """If not, work on two trailers would be booked on one."""
    assert [one.code for one in unit_facts.check_units(rig(*units))] == codes


def test_hubs_are_asked_of_a_leg_where_there_is_a_choice() -> None:
    """Part-time drive with free-wheeling hubs alone; every leg that leaves it empty is named."""
    open_leg, told_leg = leg(1, 100, hubs=None), leg(2, 100, hubs=0.5)
    one_trip = trip(open_leg, told_leg)
    assert [one.code for one in unit_facts.check_leg_hubs(rig(wagon()), one_trip)] == ["L02"]
    for unit in (wagon(hubs="fixed"), wagon(drive="full-time"), camper()):
        assert list(unit_facts.check_leg_hubs(rig(unit), one_trip)) == []


@pytest.mark.parametrize(
    ("point", "height_mm", "said"),
    [
        ("hub_centre", 38, "380, if 38 is in centimetres"),
        ("hub_centre", 0.38, "380, if 0.38 is in metres"),
        ("hub_centre", 15.5, "394, if 15.5 is in inches"),
        ("axle_centre", 4050, "405, if 4050 has a digit too many"),
        ("lamp", 82, "820, if 82 is in centimetres"),
        ("door_sill", 61, "610, if 61 is in centimetres"),
        ("transfer_breather", 105, "1050, if 105 is in centimetres"),  # over the lowest height, yet below the hubs
        ("shaft", 4700, "470, if 4700 has a digit too many"),
        ("roof", 21000, "2100, if 21000 has a digit too many"),
    ],
)
def test_a_height_that_no_such_point_has_is_asked_about(point: str, height_mm: float, said: str) -> None:
    """If not, a hub height in centimetres would have every ford drown the hubs. By hand: tyre 800 mm, hubs at about 400 mm."""
    (one,) = unit_facts.check_odd_heights(rig(wagon(heights_mm={point: height_mm})))
    assert (one.code, one.weight, one.column) == ("R20", "worth a look", f"unit[1].heights_mm.{point}")
    assert said in one.hint


def test_heights_that_a_rig_can_have_are_taken_without_a_word() -> None:
    """If not, whoever measured well would be asked again and again. Portal axles lie above their hubs."""
    units = (
        wagon(
            heights_mm={"hub_centre": 380, "axle_centre": 550, "intake_mouth": 2300, "roof": 2900, "knuckle_lower": 210}
        ),
        wagon(tyre_diameter_mm=None, heights_mm={"hub_centre": 300, "lamp": 640}),
        camper(tyre_diameter_mm=None, heights_mm={"hub_centre": 270, "shackle": 200, "trailer_floor": 400}),
    )
    assert list(unit_facts.check_odd_heights(rig(*units))) == []
