"""The only printed number for dust: oil-change intervals halved in desert.

Source: Preventive Maintenance Monthly no. 560, pages 2 and 3, read in part. Its example is
12000 miles made 6000. A factor 0.5 on the interval is a wear multiplier of 2.
"""

from datetime import date

from tests.published.printed import agrees
from tests.small import leg, looked_at, row, thing, trip
from tripplan.files.data_tables import read_catalogue
from tripplan.records.units import KM_PER_MILE, km_from_miles

SHIPPED, _ = read_catalogue()
TODAY = date(2026, 6, 20)


def lasts_km(interval_km: float, dust: str) -> float:
    """Typical km after which fresh oil of that interval runs out on a leg that is only dusty."""
    oil = thing("oil", act="drain and refill", km=interval_km, dust="high", family="fluid")
    long = trip(leg(1, 19999, dust=dust))
    rows = (row(date(2026, 6, 19), 0, "oil", "drain and refill"), row(TODAY, 0, number=3))
    _, (standing,) = looked_at(long, *rows, catalogue=SHIPPED.model_copy(update={"items": (oil,)}), today=TODAY)
    assert standing.runs_out is not None
    return standing.runs_out.trip_km


def test_the_printed_example() -> None:
    """Otherwise the desert would not shorten an oil change as the one printed rule does."""
    assert agrees("12000", lasts_km(km_from_miles(12000), "none") / KM_PER_MILE)
    assert agrees("6000", lasts_km(km_from_miles(12000), "heavy") / KM_PER_MILE)


def test_the_semi_annual_in_desert() -> None:
    """Otherwise the halving would hold for one interval only. By hand: 4828 x 0.5 = 2414 km."""
    assert agrees("2414", lasts_km(km_from_miles(3000), "heavy"))


def test_more_often_if_really_bad() -> None:
    """Otherwise bulldust would wear no more than dust, against the same page."""
    assert lasts_km(5000, "bulldust") < lasts_km(5000, "heavy") < lasts_km(5000, "light")


def test_the_row_says_where_it_is_from() -> None:
    """Otherwise nobody could hold the number against the page."""
    (heavy,) = [r for r in SHIPPED.multipliers if (r.condition, r.grade, r.sensitivity) == ("dust", "heavy", "high")]
    assert (heavy.typical, heavy.basis, heavy.source) == (2, "published", "pm_monthly_560")
    (source,) = [source for source in SHIPPED.sources if source.id == "pm_monthly_560"]
    assert source.how_seen == "read in part"
    assert SHIPPED.item("engine_oil_filter").dust == "high"
