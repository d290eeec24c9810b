"""Rows held against each other: what contradicts, what only looks odd, and what is fine."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.support import TODAY, good_folder, tiny_catalogue, tiny_item
from tripplan.files.folder import Inputs, read_folder
from tripplan.records import lookups
from tripplan.records.facts_in import HistoryRow, Origin, Unit
from tripplan.records.problem_codes import CODES, figure, nearest
from tripplan.records.problems import Problem
from tripplan.wear import contradictions, unit_facts
from tripplan.wear.leg_order import DoubtedLegs, check_leg_times
from tripplan.wear.odometer_line import engaged_share


def reading(row: int, day: str, odometer_km: float | None, act: str = "reading", **more: Any) -> HistoryRow:
    """A history row of the wagon."""
    origin = Origin(file="history.csv", row=row)
    return HistoryRow(
        date=date.fromisoformat(day), unit="wagon", odometer_km=odometer_km, act=act, origin=origin, **more
    )


def odometer_problems(*rows: HistoryRow) -> list[Problem]:
    """What the passes over odometer readings say, in the order they say it."""
    return list(contradictions.check_odometer(rows))


@pytest.fixture
def inputs(tmp_path: Path) -> Inputs:
    """The records of the good folder."""
    read, problems = read_folder(good_folder(tmp_path), TODAY)
    assert read
    assert not problems
    return read


def test_odometer_going_back_is_told_with_both_readings() -> None:
    """Otherwise the km since the last repack would come out too small, and the bearing late."""
    (problem,) = odometer_problems(reading(14, "2026-03-02", 184300), reading(22, "2026-05-01", 181200))
    assert problem.as_text().splitlines()[1:] == [
        "    found     181200 on 2026-05-01",
        "    accepted  at least 184300, the reading on 2026-03-02 (row 14)",
        "    hint      3100 km too low; a swapped instrument is entered as a row with act odometer replaced",
    ]
    assert problem.place == "history.csv row 22, column odometer_km"


def test_rows_may_stand_in_any_order() -> None:
    """Otherwise an owner who adds old receipts at the end would be told that the odometer fell."""
    rows = (
        reading(2, "2026-05-01", 184300),
        reading(3, "2025-05-01", 150000),
        reading(4, "2026-05-01", 184200),
    )
    assert odometer_problems(*rows) == []


def test_replaced_odometer_starts_again() -> None:
    """Otherwise a new instrument would make every later reading an error."""
    swap = reading(3, "2026-03-01", 12, lookups.ODOMETER_REPLACED, old_odometer_km=184900)
    before, after = reading(2, "2026-02-01", 184300), reading(4, "2026-04-01", 2100)
    assert odometer_problems(before, swap, after) == []
    assert [p.code for p in odometer_problems(before, swap, reading(4, "2026-04-01", 11))] == ["H11"]


@pytest.mark.parametrize("same_day_km", [184900.0, 12.0, 40.0])
def test_day_of_the_swap_may_hold_readings_of_both(same_day_km: float) -> None:
    """Otherwise work done on the day the instrument was changed could not be entered."""
    swap = reading(3, "2026-03-01", 12, lookups.ODOMETER_REPLACED, old_odometer_km=184900)
    rows = (reading(2, "2026-02-01", 184300), swap, reading(4, "2026-03-01", same_day_km))
    assert odometer_problems(*rows) == []


def test_old_figure_of_a_swap_must_not_go_back() -> None:
    """Otherwise the km driven on the old instrument would come out negative."""
    swap = reading(3, "2026-03-01", 12, lookups.ODOMETER_REPLACED, old_odometer_km=184000)
    (problem,) = odometer_problems(reading(2, "2026-02-01", 184300), swap)
    assert (problem.code, problem.column, problem.found) == ("H11", "old_odometer_km", "184000 on 2026-03-01")


def test_units_have_odometers_of_their_own() -> None:
    """Otherwise the trailer's hub meter would be held against the wagon's odometer."""
    trailer = reading(3, "2026-05-02", 9000).model_copy(update={"unit": "camper"})
    assert odometer_problems(reading(2, "2026-05-01", 184300), trailer) == []


@pytest.mark.parametrize(("gained_km", "codes"), [(3000, []), (3001, ["H18"])])
def test_more_than_can_be_driven_is_worth_a_look(gained_km: float, codes: list[str]) -> None:
    """Otherwise a figure typed twice would use up every interval without a word."""
    rows = (reading(2, "2026-05-01", 184300), reading(3, "2026-05-02", 184300 + gained_km))
    assert [problem.code for problem in odometer_problems(*rows)] == codes


def test_duplicates_are_told_once_each_and_left_out() -> None:
    """Otherwise one repack entered twice would look like two findings."""
    same = [reading(row, "2026-05-01", 184300) for row in (2, 3, 4)]
    rows = (*same, reading(5, "2026-05-01", 184301))
    assert [p.origin.row for p in lookups.without_duplicates(rows)] == [2, 5]
    assert [(p.code, p.row) for p in contradictions.check_duplicate_rows(rows)] == [("H19", 3), ("H19", 4)]


@pytest.mark.parametrize(
    ("text", "item_id"),
    [
        ("winch", "winch"),
        ("  Front Wheel Bearings ", "front_wheel_bearings"),
        ("front wheel bearings (taper)", "front_wheel_bearings"),
        ("FRONT_WHEEL_BEARINGS", "front_wheel_bearings"),
        ("front wheel", None),
        ("", None),
    ],
)
def test_items_are_found_by_id_or_plain_name(text: str, item_id: str | None) -> None:
    """Otherwise a row would need the id by heart, or would count for some other item."""
    found = lookups.resolve_item(tiny_catalogue(), text)
    assert (found.id if found else None) == item_id


def test_a_name_of_two_items_names_neither() -> None:
    """Otherwise work on one of two like-named items would be booked on the other."""
    catalogue = tiny_catalogue(tiny_item("other_winch", "Winch (rear)"))
    assert lookups.resolve_item(catalogue, "Winch (rear)") == catalogue.item("other_winch")
    assert "winch" in lookups.item_index(catalogue)
    assert lookups.item_index(catalogue)["winch"].id == "winch"
    twice = tiny_catalogue(tiny_item("third_one", "Trailer wheel bearings (rear)"))
    assert lookups.resolve_item(twice, "trailer wheel bearings") is None


def test_facts_are_asked_only_where_an_item_depends_on_them(inputs: Inputs) -> None:
    """Otherwise a rig would be sent back for a word that changes nothing, or miss its items."""

    def asked(unit: Unit) -> list[str | None]:
        rig = inputs.rig.model_copy(update={"units": (unit, inputs.rig.units[1])})
        return [p.column for p in contradictions.check_unit_facts(rig, catalogue) if p.code == "R12"]

    on_hubs = tiny_item("free_wheel_hubs", "Hubs", needs="drive=part-time; hubs=free-wheeling")
    catalogue = tiny_catalogue(on_hubs)
    wagon = inputs.rig.units[0]
    assert asked(wagon) == []
    assert asked(wagon.model_copy(update={"hubs": None})) == ["unit[1].hubs"]
    assert asked(wagon.model_copy(update={"hubs": None, "drive": "rear"})) == []
    assert asked(wagon.model_copy(update={"fuel": None})) == ["unit[1].fuel"]


@pytest.mark.parametrize(
    ("drive", "hubs", "is_asked"),
    [
        ("part-time", "free-wheeling", True), ("part-time", "fixed", False), ("full-time", "fixed", False),
        ("full-time", None, False), ("full-time", "free-wheeling", False), ("rear", None, False),
        ("front", None, False), ("part-time", None, False),
    ],
)  # fmt: skip
def test_hubs_of_a_leg_are_asked_only_where_there_is_a_choice(
    drive: str, hubs: str | None, is_asked: bool, inputs: Inputs
) -> None:
    """Otherwise a rig that has nothing to lock would be refused a leg for each empty cell."""
    wagon = inputs.rig.units[0].model_copy(update={"drive": drive, "hubs": hubs})
    rig = inputs.rig.model_copy(update={"units": (wagon, *inputs.rig.units[1:])})
    legs = tuple(leg.model_copy(update={"hubs": None}) for leg in inputs.trip.legs)
    found = list(unit_facts.check_leg_hubs(rig, inputs.trip.model_copy(update={"legs": legs})))
    assert [(p.code, p.column, p.row) for p in found] == [("L02", "hubs", leg.origin.row) for leg in legs if is_asked]
    # and what is left empty counts as what such a rig does anyway
    for leg in legs:
        locked = leg.model_copy(update={"hubs": 1.0})
        assert is_asked or engaged_share(wagon, leg) == engaged_share(wagon, locked)


def test_no_heights_are_asked_when_nothing_is_crossed(inputs: Inputs) -> None:
    """Otherwise a dry trip would nag about water."""
    bare = inputs.rig.model_copy(
        update={"units": tuple(unit.model_copy(update={"heights_mm": {}}) for unit in inputs.rig.units)}
    )
    dry = inputs.trip.model_copy(update={"crossings": ()})
    catalogue = tiny_catalogue()
    assert [p.code for p in contradictions.check_heights(bare, inputs.trip, catalogue)] == ["R16", "R16"]
    assert list(contradictions.check_heights(bare, dry, catalogue)) == []


def test_back_to_back_legs_on_the_same_dates_are_fine(inputs: Inputs) -> None:
    """Otherwise two legs driven on one day, given as dates, could not be entered."""
    first, second, _ = inputs.trip.legs
    same_day = second.model_copy(update={"depart": first.date})
    assert list(check_leg_times(inputs.trip.model_copy(update={"legs": (first, same_day)}), DoubtedLegs())) == []


def test_a_leg_too_long_for_its_days_overlaps(inputs: Inputs) -> None:
    """Otherwise the trip would be planned with the vehicle in two places."""
    first, second, _ = inputs.trip.legs
    long = first.model_copy(update={"distance_km": 9000.0})
    found = list(check_leg_times(inputs.trip.model_copy(update={"legs": (long, second)}), DoubtedLegs()))
    assert [(p.code, p.row, p.column) for p in found] == [("L13", 3, "depart")]


def test_slowest_and_last_days_do_not_overflow(inputs: Inputs) -> None:
    """Otherwise a typing slip in the speed would end in a traceback."""
    first, second, _ = inputs.trip.legs
    crawl = first.model_copy(update={"speed_kmh": 1e-300, "depart": date(9999, 12, 31)})
    assert list(check_leg_times(inputs.trip.model_copy(update={"legs": (crawl, second)}), DoubtedLegs()))


@pytest.mark.parametrize("offset_days", [0, 13])
def test_workshop_days_up_to_departure_are_used(inputs: Inputs, offset_days: int) -> None:
    """Otherwise the first or last day with time for work would be reported as useless."""
    days = (inputs.trip.workshop_days[0].model_copy(update={"date": TODAY + timedelta(days=offset_days)}),)
    assert list(contradictions.check_workshop(inputs.trip.model_copy(update={"workshop_days": days}), TODAY)) == []


def test_override_to_a_name_that_no_table_has_is_told() -> None:
    """Otherwise the job would be planned with an opening that has no minutes, or a part that cannot be bought."""
    origin = Origin(file="overrides/items.csv", row=2)
    odd = tiny_item(
        "own_item",
        "Own item",
        state="hub of",
        act="repak",
        follow_ups="weel_nuts 50-100 km",
        consumables="ragg 1",
        origin=origin,
    )
    found = list(contradictions.check_overrides(tiny_catalogue(odd)))
    assert [(p.code, p.column, p.found) for p in found] == [
        ("O12", "act", "repak"),
        ("O12", "state", "hub of"),
        ("O12", "follow_ups", "weel_nuts"),
        ("O12", "consumables", "ragg"),
    ]
    assert [p.accepted for p in found][1] == "hub off"


def test_problems_come_in_file_and_row_order_with_known_codes(inputs: Inputs) -> None:
    """Otherwise the owner could not walk down the file while correcting it."""
    rows = (reading(9, "2027-01-01", 1001, "repak"), reading(2, "2026-05-01", 1005, "renew", item="wynch"))
    found = contradictions.check(inputs.rig, rows, inputs.trip, tiny_catalogue(), TODAY)
    history = [p for p in found if p.file == "history.csv"]
    assert [(p.row, p.code) for p in history] == [(2, "H12"), (9, "H15"), (9, "H17"), (9, "H16"), (9, "H11")]
    assert [p.row for p in history] == sorted(p.row or 0 for p in history)
    assert {p.code for p in found} <= set(CODES)


def test_words_are_listed_nearest_first() -> None:
    """Otherwise the word that was meant would hide in the middle of a list."""
    assert nearest("gravvel", ("sealed", "gravel", "track")).startswith("gravel")
    assert nearest("x", ("one",)) == "one"
    assert nearest("x", ()) == ""


@pytest.mark.parametrize(("value", "text"), [(184300.0, "184300"), (0.5, "0.5"), (1e6, "1000000"), (0.0, "0")])
def test_figures_are_written_as_people_write_them(value: float, text: str) -> None:
    """Otherwise a message would quote 1e+06 km or lose the last digits of an odometer."""
    assert figure(value) == text
