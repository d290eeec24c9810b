"""What is used of each meter: true km, engaged km, towing km, low range km, engine hours."""

from datetime import date

import pytest

from tests.small import HERE, camper, leg, row, wagon
from tripplan.records.facts_in import EarlierLeg, HistoryRow, Leg, Unit
from tripplan.wear.odometer_line import OdometerLine, build_ledger, engaged_share, per_km, read_marks

TODAY = date(2026, 6, 20)


def ledger(
    unit: Unit, rows: list[HistoryRow], driven: tuple[Leg, ...] = (), today: date = TODAY, home: date | None = None
) -> OdometerLine:
    """A unit's line of km at 50 km/h."""
    return build_ledger(unit, rows, driven, today, 50, home)


def test_the_odometer_factor_makes_true_km() -> None:
    """If not, oversize tyres would let every interval run over by their error."""
    marks = read_marks(wagon(odometer_factor=1.02), [row(date(2026, 1, 1), 1000), row(date(2026, 2, 1), 2000)])
    assert marks[-1].true_km == 1020  # (2000 - 1000) x 1.02


def test_a_replaced_odometer_keeps_the_km_of_the_old_one() -> None:
    """If not, the bearings would seem to have travelled backwards, or not at all."""
    rows = [
        row(date(2026, 1, 1), 100_000),
        row(date(2026, 2, 1), 12, act="odometer replaced", old_odometer_km=100_500),
        row(date(2026, 3, 1), 300),
    ]
    # 500 on the old one, then 300 - 12 = 288 on the new one
    assert [mark.true_km for mark in read_marks(wagon(), rows)] == [0, 500, 788]


def test_a_replaced_odometer_without_the_old_figure_starts_at_the_last_reading() -> None:
    """If not, the plan would invent km that nobody wrote down, or lose those of the new instrument."""
    rows = [
        row(date(2026, 1, 1), 100_000),
        row(date(2026, 2, 1), 12, act="odometer replaced"),
        row(date(2026, 3, 1), 300),
    ]
    assert [mark.true_km for mark in read_marks(wagon(), rows)] == [0, 0, 288]


def test_on_the_day_of_the_swap_the_old_instrument_comes_first() -> None:
    """If not, two rows of one day in the wrong order would add a hundred thousand km."""
    swap = date(2026, 2, 1)
    rows = [
        row(date(2026, 1, 1), 100_000, number=2),
        row(swap, 20, number=3),
        row(swap, 12, act="odometer replaced", old_odometer_km=100_500, number=4),
        row(swap, 100_400, number=5),
    ]
    marks = read_marks(wagon(), rows)
    # old reading 400, swap at 500, new one 20 - 12 = 8 further
    assert [(mark.row.origin.row, mark.true_km) for mark in marks] == [(2, 0), (5, 400), (4, 500), (3, 508)]


def test_a_row_without_reading_is_placed_between_its_neighbours() -> None:
    """If not, work written down without the odometer would count as never done."""
    blank = row(date(2026, 1, 16), None, "bearings", "repack")
    line = ledger(wagon(), [row(date(2026, 1, 1), 5000), blank, row(date(2026, 1, 31), 8000)])
    assert line.true_km_of(blank) == 1500  # 15 of 30 days of 3000 km


def test_a_row_behind_the_last_reading_stands_where_the_rig_was_that_day() -> None:
    """If not, joints greased at camp yesterday would be told to have run all km since the odometer was last read.

    3000 km by the readings, then 70 km a week at home; legs of 300 km on 11 June, 200 on the 12th and
    100 on the 14th. Up to 11 June 131 days at home, 1310 km, from 31 January on.
    """
    driven = (leg(1, 300, date(2026, 6, 11)), leg(2, 200, date(2026, 6, 12)), leg(3, 100, date(2026, 6, 14)))
    read = [row(date(2026, 1, 1), 5000), row(date(2026, 1, 31), 8000)]

    def km_on(day: date, *legs: Leg, home: date | None = None) -> float | None:
        blank = row(day, None, "bearings", "repack")
        return ledger(wagon(usual_km_per_week=70), [*read, blank], legs, home=home).true_km_of(blank)

    assert km_on(date(2026, 2, 10)) == km_on(date(2026, 2, 10), *driven) == 3000 + 100  # ten days at 10 km
    assert km_on(date(2026, 6, 10), *driven) == 3000 + 1300
    assert km_on(date(2026, 6, 11), *driven) == 3000 + 1310 + 300  # at camp, behind the leg of that day
    assert km_on(date(2026, 6, 13), *driven) == 3000 + 1310 + 500  # a day's rest
    assert km_on(date(2026, 6, 19), *driven) == 3000 + 1310 + 600
    assert km_on(date(2026, 6, 19), *driven, home=date(2026, 6, 16)) == 3000 + 1310 + 600 + 30  # three days at home
    assert km_on(TODAY) == ledger(wagon(usual_km_per_week=70), read).now_km == 3000 + 1400


def test_a_row_on_a_trip_before_this_one_has_the_km_of_its_legs_so_far() -> None:
    """If not, days of rest on last winter's loop would count as weeks at home, or work there as done after the loop."""
    loop = [
        EarlierLeg.model_validate({**leg(n, 400, day).model_dump(by_alias=True), "trip": "Loop", "origin": HERE})
        for n, day in ((1, date(2026, 3, 2)), (2, date(2026, 3, 12)))
    ]
    blank = row(date(2026, 3, 9), None, "bearings", "repack")
    line = ledger(wagon(usual_km_per_week=70), [row(date(2026, 3, 1), 5000), blank], tuple(loop))
    # a day at home, the first leg; the second one and a hundred days at home are still to come
    assert line.true_km_of(blank) == 10 + 400
    assert line.now_km == 10 + 800 + 1000


def test_a_row_before_the_first_reading_is_unknown() -> None:
    """If not, missing history would be taken as a distance of zero."""
    blank = row(date(2025, 1, 1), None, "bearings", "repack")
    assert ledger(wagon(), [blank, row(date(2026, 1, 1), 5000)]).true_km_of(blank) is None
    assert ledger(wagon(), [blank]).now_km is None


@pytest.mark.parametrize(
    ("drive", "hubs", "share_free", "share_locked"),
    [
        ("part-time", "free-wheeling", 0.0, 1.0),
        ("part-time", "fixed", 1.0, 1.0),
        ("full-time", "fixed", 1.0, 1.0),
        ("full-time", "free-wheeling", 1.0, 1.0),
        ("front", "fixed", 1.0, 1.0),
        ("rear", "fixed", 0.0, 0.0),
    ],
)
def test_the_front_shafts_turn_only_when_driven(drive: str, hubs: str, share_free: float, share_locked: float) -> None:
    """If not, the stub-axle bush and joints would be worn by km on which their shaft stood still.

    Common practice, no source: unlocked hubs leave shaft and bush at rest, the wheel bearing turns.
    """
    unit = wagon(drive=drive, hubs=hubs)
    assert engaged_share(unit, leg(1, 100, hubs=0.0)) == share_free
    assert engaged_share(unit, leg(1, 100, hubs=1.0)) == share_locked
    assert per_km(unit, "km", leg(1, 100, hubs=0.0), 50) == 1.0


def test_hubs_unlocked_use_nothing_of_the_bush_and_all_of_the_bearing() -> None:
    """If not, an owner who drives with hubs free would strip the stub axles for nothing."""
    driven = (leg(1, 400, date(2026, 6, 5), hubs=0.0),)
    line = ledger(wagon(), [row(date(2026, 6, 1), 1000), row(date(2026, 6, 10), 1400)], driven)
    assert line.used_since(0, "engaged_km") == 0
    assert line.used_since(0, "km") == 400


def test_a_share_of_a_leg_locked_counts_by_that_share() -> None:
    """If not, locking in for the last river only would count as the whole leg or not at all."""
    driven = (leg(1, 400, date(2026, 6, 5), hubs=0.25),)
    line = ledger(wagon(), [row(date(2026, 6, 1), 1000), row(date(2026, 6, 10), 1400)], driven)
    assert line.used_since(0, "engaged_km") == 100  # 0.25 x 400


def test_shares_that_are_not_given_count_in_full() -> None:
    """If not, an owner who leaves a share out would have it silently taken as zero."""
    unit = wagon(usual_engaged_share=None, usual_towing_share=None, usual_low_range_share=None)
    assert [per_km(unit, meter, None, 50) for meter in ("engaged_km", "towing_km", "low_range_km")] == [1, 1, 1]


def test_towing_low_range_and_hours() -> None:
    """If not, the coupling, the transfer case and the engine would be worn by the wrong km."""
    part = leg(1, 200, towing=True, low_range_km=50, speed_kmh=25)
    assert per_km(wagon(), "towing_km", part, 50) == 1.0
    assert per_km(wagon(), "low_range_km", part, 50) == 0.25  # 50 of 200 km
    assert per_km(wagon(), "engine_hours", part, 50) == 0.04  # 1 km at 25 km/h
    assert per_km(wagon(), "engine_hours", None, 50) == 0.02  # ordinary use at 50 km/h
    assert per_km(wagon(), "towing_km", leg(1, 200), 50) == 0.0
    assert per_km(wagon(usual_towing_share=0.1), "towing_km", None, 50) == 0.1


def test_a_trailer_has_its_own_km() -> None:
    """If not, the camper's bearings would be worn by legs it stayed at home for."""
    driven = (leg(1, 300, date(2026, 6, 5), towing=True), leg(2, 500, date(2026, 6, 8)))
    rows = [row(date(2026, 6, 1), 0, unit="camper")]
    line = ledger(camper(), rows, driven)
    assert line.now_km == 300
    assert line.used_since(0, "km") == 300
    assert [per_km(camper(), "km", part, 50) for part in driven] == [1, 0]
    assert per_km(camper(), "engine_hours", driven[0], 50) == 0
    assert per_km(camper(), "engaged_km", driven[0], 50) == 0


def test_driven_legs_count_with_their_own_wear() -> None:
    """If not, a corrugated week would be forgotten as soon as it is over."""
    driven = (leg(1, 300, date(2026, 6, 5)),)
    line = ledger(wagon(), [row(date(2026, 6, 1), 1000), row(date(2026, 6, 10), 1500)], driven)
    # 500 km by the odometer: 200 ordinary x 1 and 300 on the leg x 2
    assert line.used_since(0, "km", lambda _: 2.0) == 200 + 600


def test_driven_legs_are_scaled_to_the_odometer() -> None:
    """If not, legs planned longer than they were driven would add km that were never run."""
    driven = (leg(1, 300, date(2026, 6, 3)), leg(2, 200, date(2026, 6, 5)))
    line = ledger(wagon(), [row(date(2026, 6, 1), 1000), row(date(2026, 6, 10), 1400)], driven)
    # 500 km planned, 400 by the odometer: 240 and 160
    assert [segment.end_km - segment.start_km for segment in line.segments] == [240, 160]
    wear = {1: 2.0, 2: 1.0}
    assert line.used_since(0, "km", lambda one: wear[one.leg]) == 240 * 2 + 160


def test_behind_the_last_reading_legs_count_by_their_distance_and_home_by_the_week() -> None:
    """If not, the km since the last look at the odometer would be lost."""
    driven = (leg(1, 300, date(2026, 6, 11)),)
    line = ledger(wagon(usual_km_per_week=70), [row(date(2026, 6, 1), 1000)], driven)
    # ten days at home at 10 km a day, then the leg
    assert line.now_km == 100 + 300


def test_home_again_counts_from_the_day_of_return() -> None:
    """If not, weeks at home after the trip would count nothing, or the trip's days twice."""
    driven = (leg(1, 300, date(2026, 6, 11)),)
    line = ledger(
        wagon(usual_km_per_week=70), [row(date(2026, 6, 1), 1000)], driven, date(2026, 6, 30), date(2026, 6, 20)
    )
    assert line.now_km == 100 + 300 + 100


def test_use_since_a_point_in_the_middle_of_a_leg() -> None:
    """If not, a repack done on the way would count the km before it as well."""
    driven = (leg(1, 400, date(2026, 6, 5)),)
    line = ledger(wagon(), [row(date(2026, 6, 1), 1000), row(date(2026, 6, 10), 1400)], driven)
    assert line.used_since(150, "km", lambda _: 2.0) == (400 - 150) * 2


def test_an_odometer_nobody_has_checked_reads_true() -> None:
    """If it did not, every interval of a new rig would run at the wrong pace."""
    rows = [row(date(2026, 1, 1), 1000), row(date(2026, 2, 1), 2000)]
    assert read_marks(wagon(odometer_factor=None), rows)[-1].true_km == 1000
