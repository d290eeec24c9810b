"""Service intervals of TM 9-2320-387-24-1 para 2-9 and its kin, against the planner's arithmetic.

Every manual here was read in part, a paragraph or a page each, never whole; the paragraph
number 2-9 is inferred, the next one printed being 2-10. Figures are as printed. The check
numbers in kilometres are worked out by hand beside each.
"""

from datetime import date

import pytest

from tests.published.printed import agrees
from tests.small import DEPART, leg, looked_at, row, tables, thing, trip
from tripplan.files.data_tables import read_catalogue
from tripplan.records.plan import DUE, LASTS
from tripplan.records.units import KM_PER_MILE, km_from_miles
from tripplan.trip.timeline import add_months
from tripplan.wear.last_done import read_history, sheet_items

SHIPPED, _ = read_catalogue()
SEMI_ANNUAL_KM = km_from_miles(3000)
TODAY = date(2026, 6, 20)


@pytest.mark.parametrize(
    ("distance_mi", "check_km", "of"),
    # x 1.609344: 3000 -> 4828.03, 6000 -> 9656.06, 12000 -> 19312.13, 1000 -> 1609.34
    [
        (1000, "1609", "the floor rule"),
        (3000, "4828", "semi-annual"),
        (6000, "9656", "annual"),
        (12000, "19312", "biennial"),
        (24000, "38624", "wheel bearings of LO 9-2320-273-12"),
    ],
)
def test_miles_become_km_by_the_exact_factor(distance_mi: float, check_km: str, of: str) -> None:
    """Otherwise an interval copied from a manual in miles would be off by kilometres."""
    assert agrees(check_km, km_from_miles(distance_mi)), of


@pytest.mark.parametrize(
    ("distance_mi", "printed_km", "ours_km", "manual"),
    [
        (3000, "4827", "4828", "TM 9-2320-280-10, lubrication appendix"),
        (6000, "9654", "9656", "TM 9-2320-272-24-1 para 2-9"),
        (12000, "19308", "19312", "TM 9-2320-272-24-1 para 2-9"),
        (24000, "38616", "38624", "TM 9-2320-272-24-1 para 2-9"),
    ],
)
def test_where_manuals_round_their_factor_we_differ_and_say_so(
    distance_mi: float, printed_km: str, ours_km: str, manual: str
) -> None:
    """Otherwise the small differences from print would look like mistakes of ours.

    The printed figures are miles x 1.609 cut to three decimals; ours use 1.609344.
    """
    assert agrees(printed_km, distance_mi * 1.609), manual
    assert agrees(ours_km, km_from_miles(distance_mi)), manual
    assert KM_PER_MILE == 1.609344


@pytest.mark.parametrize(
    ("driven_km", "months_ago", "verdict"),
    [
        (4829, 3, DUE),  # 3000 mi first
        (3000, 6, DUE),  # six months first
        (3000, 3, LASTS),
        (1609, 6, DUE),  # the floor: under 1000 mi in six months is still due by the calendar
    ],
)
def test_whichever_comes_first(driven_km: float, months_ago: int, verdict: str) -> None:
    """Otherwise oil would be kept past its months, or past its miles.

    Para 2-9: semi-annual, 6 months or 3000 mi, whichever comes first; and a vehicle under
    1000 mi in 6 months is still lubricated at the semi-annual.
    """
    done = add_months(DEPART, -months_ago)
    rows = (row(done, 0, "bearings", "repack"), row(TODAY, driven_km, number=3))
    one = trip(leg(1, 10), **{"return": date(2026, 7, 2)})
    item = thing(km=SEMI_ANNUAL_KM, months=6)
    _, standings = looked_at(one, *rows, catalogue=tables(item), today=TODAY)
    assert standings[0].verdict == verdict


def test_ten_per_cent_either_way_meets_the_service() -> None:
    """Otherwise a point nearly due would have a day of its own, or run further than allowed.

    Para 2-9: tolerance 10 % on a lubrication point's mileage so that it meets the service.
    By hand: 10 % of 4828 is 483, so from 4345 to 5311 km.
    """
    share = SHIPPED.assumed("tolerance_share")
    assert share.value == 0.10
    assert share.source == "tm_9_2320_387"
    assert agrees("4345", SEMI_ANNUAL_KM * (1 - share.value))
    assert agrees("5311", SEMI_ANNUAL_KM * (1 + share.value))


SHEETS = {sheet.id: sheet for sheet in SHIPPED.services}


@pytest.mark.parametrize(
    ("greater", "lesser", "months"),
    [
        ("service_twelve_month", "service_six_month", (12, 6)),
        ("service_two_year", "service_twelve_month", (24, 12)),
        ("service_two_year", "service_six_month", (24, 6)),
        ("trailer_service_twelve_month", "trailer_service_six_month", (12, 6)),
    ],
)
def test_annual_includes_semi_annual_and_biennial_both(greater: str, lesser: str, months: tuple[int, int]) -> None:
    """Otherwise a two-year service would leave the half-yearly jobs open.

    Para 2-9; also TM 9-2320-289-20 and TM 9-2320-272-24-1. Months as printed for A1.
    """
    assert set(sheet_items(SHEETS[lesser], SHIPPED)) < set(sheet_items(SHEETS[greater], SHIPPED))
    assert (SHEETS[greater].months, SHEETS[lesser].months) == months


def test_a_recorded_biennial_does_the_engine_oil() -> None:
    """Otherwise the oil drained at the two-year service would be due again the week after."""
    history = read_history([row(date(2026, 5, 1), 1000, "service_two_year", "service")], SHIPPED)
    done = history.last_done(SHIPPED.item("engine_oil_filter"), "wagon", None)
    assert done is not None and done.day == date(2026, 5, 1)
    assert SHIPPED.item("engine_oil_filter").months == 6  # the semi-annual's


@pytest.mark.parametrize(
    ("distance_mi", "hours", "speed_mi_h"),
    # TM 9-2350-287-20-1 para 2-13 pairs 1500 mi with 150 h and 3000 mi with 300 h
    [("1500", "150", "10"), ("3000", "300", "10")],
)
def test_hours_and_miles_are_two_meters_not_one(distance_mi: str, hours: str, speed_mi_h: str) -> None:
    """Otherwise hours would be taken from km at a speed no touring rig drives at.

    The pairing equals 10 mi/h, 16 km/h; we ask for hours or use the trip's own mean speed.
    """
    assert agrees(speed_mi_h, float(distance_mi) / float(hours))
    assert agrees("16", km_from_miles(float(distance_mi)) / float(hours))


def test_trailer_bearings_yearly() -> None:
    """Otherwise the trailer's hubs would be left for longer than both documents read allow.

    TM 9-2330-390-14&P Table 4-1: annually remove hub, clean, inspect, refit, adjust. A trailer
    owner's manual, p. 65: 12 months or 12000 mi. Both read in part.
    """
    item = SHIPPED.item("trailer_bearings")
    assert item.months == 12
    assert item.km is not None and agrees("19312", item.km)
    assert agrees("19312", km_from_miles(12000))


@pytest.mark.parametrize(
    "name",
    ["propshaft_ujoints", "propshaft_slip_joints", "steering_joints_grease", "leaf_spring_pins", "trailer_spring_pins"],
)
def test_grease_points_are_half_yearly_in_normal_use(name: str) -> None:
    """Otherwise a severe schedule would stand as the normal one, and dust would shorten it a second time.

    TM 9-2320-272-24-1 para 2-9: half-yearly lubrication, 6 months or 6000 mi, read in part. No
    point lies below the shortest normal figure read, 2000 mi of LO 9-2320-273-12, once halved
    for dust (TM 9-2330-294-14 section 3: half in continuous dust or sand).
    """
    item = SHIPPED.item(name)
    assert item.km is not None and agrees("9656", item.km)
    assert agrees("9656", km_from_miles(6000)) and item.months == 6
    assert item.km / 2 > km_from_miles(2000)


@pytest.mark.parametrize(
    ("name", "months", "distance_mi"),
    [
        ("propshaft_bolts", 12, 12000),  # TM 9-2320-272-23-2 WP 0208-4, yearly
        ("shock_absorbers", 12, 12000),  # TM 9-2320-272-24-1 item 45, yearly
        ("alignment", 12, 12000),  # the same
        ("trailer_u_bolts", 6, 6000),  # TM 9-2330-324-14&P WP 0022-3; TM 9-2330-326-14&P p. 4-7
    ],
)
def test_intervals_as_read(name: str, months: float, distance_mi: float) -> None:
    """Otherwise a row that says published would hold another number than its document."""
    item = SHIPPED.item(name)
    assert (item.months, item.basis) == (months, "published")
    assert item.km is not None and agrees(f"{km_from_miles(distance_mi):.0f}", item.km)


def test_spring_bolts_lie_between_the_figures_read() -> None:
    """Otherwise bolts that hold an axle would go longer than any document lets them.

    TM 9-2320-211-20 Table 2-2: yearly, at about 12000 mi a year. TM 5-3820-256-24-3 p. 3-11:
    1000 mi or 6 months after work on them, then 36000 mi.
    """
    km = SHIPPED.item("u_bolts").km
    assert km is not None and km_from_miles(1000) < km <= km_from_miles(12000)
    assert SHIPPED.item("u_bolts").months == 12
