"""Real rates from readings: used in plans with their reason, never from too little."""

from datetime import date, timedelta

import pytest

from tests.small import camper, leg, rig, row, tables, thing, trip, wagon
from tripplan.planner import make_plan
from tripplan.records.facts_in import HistoryRow, Unit
from tripplan.records.plan import DUE, LASTS, Plan
from tripplan.sheets.plan_json import plan_dict
from tripplan.verify.whole import verify
from tripplan.wear.contradictions import check
from tripplan.wear.rates_from_readings import HOUR_METER, unit_rates

TODAY = date(2026, 6, 20)
START = date(2025, 6, 1)


def readings(*pairs: tuple[int, float], note: str = "") -> tuple[HistoryRow, ...]:
    """Readings so many days after the start."""
    return tuple(
        row(START + timedelta(days=days), km, number=number, note=note.format(hours=km / 50) or None)
        for number, (days, km) in enumerate(pairs, 2)
    )


def test_km_a_week_by_hand() -> None:
    """Otherwise use up to departure would be guessed wrong: 13000 km in 364 days are 250 a week."""
    found = unit_rates(wagon(), readings((0, 1000), (100, 4000), (200, 8000), (364, 14000)), (), TODAY)[0]
    assert found.measured == pytest.approx(250)
    assert found.low == pytest.approx(210) and found.high == pytest.approx(280)
    assert (found.key, found.stated) == ("usual_km_per_week", 0)


@pytest.mark.parametrize(
    ("pairs", "why"),
    [(((0, 0), (100, 1), (300, 2)), "4 are needed"), (((0, 0), (10, 1), (100, 2), (179, 3)), "180 are needed")],
)
def test_too_little_gives_no_number(pairs: tuple[tuple[int, float], ...], why: str) -> None:
    """Otherwise two readings of one holiday would stand for a whole year."""
    found = unit_rates(wagon(), readings(*pairs), (), TODAY)[0]
    assert found.measured is None and why in found.reason


def test_trips_are_left_out() -> None:
    """Otherwise the km of the last trip would count as ordinary weeks, and twice."""
    rows = readings((0, 0), (100, 1000), (200, 4000), (365, 6000))
    driven = (leg(1, 2000, START + timedelta(days=150)),)
    found = unit_rates(wagon(), rows, driven, TODAY)[0]
    assert found.measured == pytest.approx(4000 * 7 / 364)
    towed = [reading.model_copy(update={"unit": "camper"}) for reading in rows]
    assert unit_rates(camper(), towed, driven, TODAY)[0].measured == pytest.approx(6000 * 7 / 365)


def test_true_km_and_old_readings() -> None:
    """Otherwise an odometer that reads short would slow the wear, and the years of another life would count."""
    rows = readings((-3000, -0.0), (0, 1000), (100, 4000), (200, 8000), (364, 14000))
    found = unit_rates(wagon(odometer_factor=1.1), rows, (), TODAY)[0]
    assert found.measured == pytest.approx(275)


def test_an_estimate_is_no_reading() -> None:
    """Otherwise a value put between two readings would be taken for a third."""
    rows = readings((0, 0), (100, 1000), (364, 6000)) + readings((200, 3000), note="estimate: odometer not written")
    assert unit_rates(wagon(), rows, (), TODAY)[0].measured is None


def test_speed_from_the_hour_meter() -> None:
    """Otherwise engine hours would be counted at a guessed speed: 50 km for each hour here."""
    pairs = ((0, 1000.0), (100, 4000.0), (200, 8000.0), (364, 14000.0))
    found = unit_rates(wagon(), readings(*pairs, note="hours {hours}"), (), TODAY)[1]
    assert (found.key, found.measured) == ("usual_speed_kmh", pytest.approx(50))
    assert unit_rates(wagon(), readings(*pairs), (), TODAY)[1].measured is None
    twice = [one for one in readings(*pairs, note="hours {hours}") for _ in range(2)]
    assert unit_rates(wagon(), twice, (), TODAY)[1].measured == pytest.approx(50)  # two jobs of one day carry it both
    standing = readings(*pairs, note="hours 100")
    assert "stands still" in unit_rates(wagon(), standing, (), TODAY)[1].reason


def test_readings_on_the_trip_are_of_no_usual_week() -> None:
    """Otherwise planning again half way would count the trip's km as ordinary ones, or its days."""
    rows = readings((0, 0), (100, 2000), (250, 5000), (364, 7280), (370, 9280))
    driven = (leg(1, 500, START + timedelta(days=364)), leg(2, 1500, START + timedelta(days=369)))
    legs = (*driven, leg(3, 700, START + timedelta(days=375)))
    found = unit_rates(wagon(), rows, legs, TODAY)[0]
    assert found.measured == pytest.approx(7280 * 7 / 364)
    assert "4 readings" in found.reason


def test_legs_that_outrun_the_odometer_give_no_rate() -> None:
    """Otherwise legs copied twice would make a car that stands still, and nothing would run out at home."""
    rows = readings((0, 0), (100, 1000), (200, 2000), (365, 3000))
    found = unit_rates(wagon(), rows, (leg(1, 4000, START + timedelta(days=150)),), TODAY)[0]
    assert found.measured is None and "cannot be right" in found.reason


@pytest.mark.parametrize(
    ("note", "hours"),
    [("hours 4210.5", 4210.5), ("before the wet; hour meter: 4210", 4210), ("Engine hours=12", 12),
     ("took 5 hours 30 min", None), ("4 hours 20", None), ("engine hours: 3 h of work", None), ("hours of work", None)],
)  # fmt: skip
def test_only_an_hour_meter_is_read_as_one(note: str, hours: float | None) -> None:
    """Otherwise the hours a job took would be taken for the engine's."""
    match = HOUR_METER.search(note)
    assert (None if match is None else float(match[1])) == hours


def planned(unit: Unit, *rows: HistoryRow) -> Plan:
    """A plan of that unit with bearings at 10 000 km, seen ten weeks before departure."""
    item = thing(km=10000, positions=None, engine_hours=None)
    away = trip(leg(1, 100, date(2026, 9, 1)), depart=date(2026, 9, 1), **{"return": date(2026, 9, 2)})
    return make_plan(rig(unit), rows, away, tables(item), date(2026, 6, 23))


YEAR = ((0, 0.0), (120, 7200.0), (240, 14400.0), (364, 21840.0), (387, 23000.0))


def year_and_repack() -> tuple[HistoryRow, ...]:
    """Sixty km a day by the readings, and the bearings repacked at the last."""
    return (*readings(*YEAR), row(date(2026, 6, 23), 23000, "bearings", "repack", 9))


def test_the_plan_counts_with_what_the_readings_tell() -> None:
    """Otherwise a guess in rig.toml would outweigh years of readings.

    By hand: 23 000 km in 387 days are 416.02 a week; the ten weeks to departure use 4160 km of the 10 000.
    """
    plan = planned(wagon(usual_km_per_week=10), *year_and_repack())
    [limit] = plan.items[0].limits
    assert limit.at_departure == pytest.approx(23000 / 387 * 70)
    [said] = [text for text in plan.assumptions if "ordinary week" in text]
    assert "416 km by 5 readings, 1 June 2025 to 23 June 2026: 23000 true km in 387 days" in said
    assert "rig.toml says 10;" in said and "rates_from_readings = false" in said
    [reason] = [reason for reason in plan.items[0].reasons if reason.text == said]
    assert [str(origin) for origin in reason.origins] == ["history.csv row 2", "history.csv row 9", "here row 2"]


def test_the_owner_can_keep_the_stated_number() -> None:
    """Otherwise one year of long tours would have to stand for the quiet year to come."""
    plan = planned(wagon(usual_km_per_week=10, rates_from_readings=False), *year_and_repack())
    [limit] = plan.items[0].limits
    assert limit.at_departure == pytest.approx(100)
    assert any("counts 10 km, as rig.toml keeps it; readings say 416" in text for text in plan.assumptions)


def test_a_verdict_follows_the_readings() -> None:
    """Otherwise bearings that run out at home would be said to last the trip."""
    rows = (*readings(*YEAR[:-1], (386, 29200.0)), row(date(2026, 6, 23), 29300, "bearings", "repack", 9))
    rows = tuple(one.model_copy(update={"odometer_km": (one.odometer_km or 0) * 2.5}) for one in rows)
    assert planned(wagon(usual_km_per_week=10), *rows).items[0].verdict == DUE
    assert planned(wagon(usual_km_per_week=10, rates_from_readings=False), *rows).items[0].verdict == LASTS


def test_a_plan_by_readings_stands_up_to_the_checker() -> None:
    """Otherwise the checker would hold the plan against the guess that it no longer uses."""
    unit = wagon(usual_km_per_week=10)
    rows = year_and_repack()
    away = trip(leg(1, 100, date(2026, 9, 1)), depart=date(2026, 9, 1), **{"return": date(2026, 9, 2)})
    catalogue = tables(thing(km=10000, positions=None))
    made = plan_dict(make_plan(rig(unit), rows, away, catalogue, date(2026, 6, 23)))
    assert verify(made, rig(unit), rows, away, catalogue) == ()
    kept = rig(unit.model_copy(update={"rates_from_readings": False}))
    made["items"][0]["limits"][0]["at_departure"] += 9000
    assert verify(made, kept, rows, away, catalogue) != ()


def test_no_usual_week_need_be_given_where_readings_tell_it() -> None:
    """Otherwise an owner with years of readings would be asked for a guess."""
    unit = wagon(usual_km_per_week=None)
    away = trip(leg(1, 100))
    assert "R15" in {found.code for found in check(rig(unit), (), away, tables(), TODAY)}
    rows = readings((0, 1000), (100, 4000), (200, 8000), (364, 14000))
    assert "R15" not in {found.code for found in check(rig(unit), rows, away, tables(), TODAY)}


def test_engine_hours_follow_the_hour_meter() -> None:
    """Otherwise oil that is due by hours would be changed by a guessed speed.

    40 km for each hour by the meter, against 80 said: 23 000 km in 387 days are 4160 km by departure, 104 h.
    """
    item = thing(engine_hours=1000, positions=None)
    rows = tuple(row(one.date, one.odometer_km, number=one.origin.row or 2, note=f"hours {(one.odometer_km or 0) / 40}")
                 for one in readings(*YEAR))  # fmt: skip
    repacked = row(date(2026, 6, 23), 23000, "bearings", "repack", 9)
    away = trip(leg(1, 100, date(2026, 9, 1)), depart=date(2026, 9, 1), **{"return": date(2026, 9, 2)})
    unit = wagon(usual_km_per_week=10, usual_speed_kmh=80)
    plan = make_plan(rig(unit), (*rows, repacked), away, tables(item), date(2026, 6, 23))
    assert plan.items[0].limits[0].at_departure == pytest.approx(23000 / 387 * 70 / 40)
    assert any("an engine hour counts 40 km by 5 readings" in text for text in plan.assumptions)
    assert not any("mean speed" in text for text in plan.assumptions)


def test_just_enough_gives_a_number() -> None:
    """Four readings over 180 days: the first and the last count the days."""
    found = unit_rates(wagon(), readings((0, 0), (10, 100), (100, 1000), (180, 1800)), (), TODAY)[0]
    assert found.measured == pytest.approx(70)


@pytest.mark.parametrize(("km", "is_told"), [(0.0, True), (9999.0 * 26, True), (10001.0 * 26, False)])
def test_a_rate_that_rig_toml_would_refuse_is_none(km: float, is_told: bool) -> None:
    """A rig that stood still has 0 km a week; 10 000 km a week are a slip of the pen (0 to 10000, as in rig.toml)."""
    found = unit_rates(wagon(), readings((0, 0), (60, km / 3), (120, km * 2 / 3), (182, km)), (), TODAY)[0]
    assert (found.measured is not None) is is_told
