"""What must be known of each unit before items can be chosen."""

import pytest

from tests.small import camper, leg, rig, tables, thing, trip, wagon
from tripplan.records.facts_in import Unit
from tripplan.wear import unit_facts

HUBS = thing("hubs", needs="drive=part-time; hubs=free-wheeling")
WINCH = thing("winch", needs="fitted=winch")


def told(*units: Unit) -> list[tuple[str, str | None]]:
    """Code and column of each problem."""
    return [(one.code, one.column) for one in unit_facts.check_unit_facts(rig(*units), tables(HUBS, WINCH))]


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
