"""Boiling points of brake fluids, dry and with 3.7 % water, by class.

Read through secondary pages: FMVSS 116 classes. From memory, high confidence: ISO 4925 class 6.
Read through a forum quotation: the decline of a typical DOT 3 fluid with water, deg F.
"""

import pytest

from tripplan.files.data_tables import read_catalogue

ROWS = {row.id: row for row in read_catalogue()[0].lubricants if row.kind == "brake fluid"}
PRINTED = {
    "brake_fluid_dot_3": (205, 140), "brake_fluid_dot_4": (230, 155), "brake_fluid_dot_5": (260, 180),
    "brake_fluid_dot_5_1": (260, 180), "brake_fluid_class_6": (250, 165),
}  # fmt: skip
TYPICAL_DOT_3_F = {1: (369, 187), 2: (320, 160), 3: (293, 145)}


@pytest.mark.parametrize(("fluid", "points"), PRINTED.items())
def test_points(fluid: str, points: tuple[int, int]) -> None:
    """The owner would believe that a pedal stays hard on a long descent when it does not."""
    assert (ROWS[fluid].boil_dry_c, ROWS[fluid].boil_wet_c) == points


def test_only_the_bare_name_has_no_points() -> None:
    """A fluid of unknown class would be given the points of one."""
    assert {name for name, row in ROWS.items() if row.boil_dry_c is None} == {"brake_fluid"}


def test_decline_with_water_reaches_the_wet_point() -> None:
    """A wet point above what wet fluid really does would hide the danger."""
    for printed_f, printed_c in TYPICAL_DOT_3_F.values():
        assert round((printed_f - 32) / 1.8) == printed_c
    falling = [celsius for _, celsius in TYPICAL_DOT_3_F.values()]
    dry, wet = PRINTED["brake_fluid_dot_3"]
    assert dry > falling[0] > falling[1] > falling[2] > wet


def test_silicone_is_not_glycol() -> None:
    """Two fluids that do not mix would meet in one brake circuit."""
    assert {name for name, row in ROWS.items() if row.base_oil == "silicone"} == {"brake_fluid_dot_5"}
    assert ROWS["brake_fluid_dot_5_1"].base_oil == ROWS["brake_fluid_dot_4"].base_oil == "glycol ether"
