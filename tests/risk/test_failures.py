"""Failures along a path, against the power law worked by hand on small trips."""

from datetime import date

import numpy as np
import pytest

from tests.small import DEPART, leg, looked_at, row, stated, stop, tables, thing, trip, workshop
from tripplan.records.catalogue import Catalogue
from tripplan.records.facts_in import Trip
from tripplan.risk.courses import courses
from tripplan.risk.failures import Worn, failures, last_renewals, laws, powered, worn

# the small owner: an hour 60, standing 90, a repair 5 h, home 3 h to help; bearings 30 min:
# act 30, failure 5 x 60 + 3 x 1 x 90 = 570; failures in one interval 30 / (b - 1) / 570
ACT, FAILURE = 30.0, 570.0
SECOND = date(2026, 7, 10)


def reckoned(one_trip: Trip, catalogue: Catalogue, *history: object) -> Worn:
    """What is worn on that trip."""
    s, standings = looked_at(one_trip, *history, catalogue=catalogue)  # type: ignore[arg-type]
    problem = stated(one_trip, *history, catalogue=catalogue)  # type: ignore[arg-type]
    return worn(courses(standings, problem, s), s)


TWO_LEGS = trip(leg(1, 1000), leg(2, 3000, SECOND, remote=True), workshop_days=(workshop(date(2026, 6, 25)),))
DONE = (row(date(2026, 6, 1), 100000, "bearings", "repack"), row(date(2026, 6, 20), 102000, number=3))


def test_the_law_of_an_item_is_that_of_its_price_of_lateness() -> None:
    """Failures would not be those that the plan's prices stand for."""
    w = reckoned(TWO_LEGS, tables(thing(km=10000, life_shape=3)), *DONE)
    assert w.law.shape[0] == 3 and w.law.at_interval[0] == pytest.approx(ACT / 2 / FAILURE)


def test_failures_of_each_leg_are_the_steps_of_the_power_law() -> None:
    """A leg would be blamed for another's failures: used 2000 km at the start of a 10 000 km interval, nothing done."""
    w = reckoned(TWO_LEGS, tables(thing(km=10000, life_shape=3)), *DONE)
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    h = ACT / 2 / FAILURE
    np.testing.assert_allclose(found, [h * (0.3**3 - 0.2**3), h * (0.6**3 - 0.3**3)], rtol=1e-9)


def test_work_starts_the_law_anew() -> None:
    """What was greased before setting out would fail as if it had not been: at home (knot 0), and behind leg 1 (knot 2)."""
    w = reckoned(TWO_LEGS, tables(thing(km=10000, life_shape=3)), *DONE)
    h = ACT / 2 / FAILURE
    home, road = (failures(w, [(0, path)])[0] @ w.doubts.weights for path in ((0,), (2,)))
    np.testing.assert_allclose(home, [h * 0.1**3, h * (0.4**3 - 0.1**3)], rtol=1e-9)
    np.testing.assert_allclose(road, [h * (0.3**3 - 0.2**3), h * 0.3**3], rtol=1e-9)


def test_of_several_meters_the_one_that_adds_most_counts() -> None:
    """An item worn out by months would fail by its km alone: 1 July to 31 July is 30 of 365 days from 20 to 50 % and on."""
    item = thing(km=1_000_000, months=12, life_shape=2)
    w = reckoned(trip(leg(1, 1000)), tables(item), row(date(2026, 1, 1), 100000, "bearings", "repack"), *DONE[1:])
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    before, behind = (DEPART - date(2026, 1, 1)).days / 365, (date(2026, 7, 31) - date(2026, 1, 1)).days / 365
    np.testing.assert_allclose(found, [ACT / FAILURE * (behind**2 - before**2)], rtol=1e-9)


def test_what_is_looked_at_every_morning_starts_anew_each_day() -> None:
    """A tyre looked at daily would fail as if nobody had looked for a fortnight: 2 days of 400 km on an interval of 500."""
    w = reckoned(trip(leg(1, 800)), tables(thing(km=500, act="look", rhythm="walk-round")), *DONE)
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    np.testing.assert_allclose(found, [ACT / FAILURE * 2 * 0.8**2], rtol=1e-9)


def test_no_record_counts_as_used_up() -> None:
    """What nobody knows would be taken for new."""
    w = reckoned(trip(leg(1, 1000)), tables(thing(km=10000)), row(date(2026, 6, 20), 102000))
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    np.testing.assert_allclose(found, [ACT / FAILURE * (1.1**2 - 1)], rtol=1e-9)


def test_a_bad_finding_stands_where_the_tables_say() -> None:
    """A bearing found worn would be as good as its km: it counts as one and a half intervals used."""
    bad = row(date(2026, 6, 1), 100000, "bearings", "look", finding="worn")
    w = reckoned(trip(leg(1, 1000)), tables(thing(km=10000)), bad, *DONE[1:])
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    np.testing.assert_allclose(found, [ACT / FAILURE * (1.6**2 - 1.5**2)], rtol=1e-9)


def test_doubtful_dust_raises_what_is_expected() -> None:
    """Plugging in typical values would tell too little: multiplier 2, 3 for 1 in 20; E[(1 + e^(sx))^2] by the moments."""
    w = reckoned(trip(leg(1, 1000, dust="heavy")), tables(thing(km=10000, dust="high")), *DONE)
    found = failures(w, [(0, (0,))])[0] @ w.doubts.weights
    s = np.log(2) / 1.6448536
    mean_square = 1 + 2 * np.exp(s**2 / 2) + np.exp(2 * s**2)
    np.testing.assert_allclose(found, 0.1**2 * ACT / FAILURE * np.array([mean_square]), rtol=2e-3)
    assert found[0] > 0.1**2 * 4 * ACT / FAILURE


def test_the_table_s_own_bounds_of_a_repair_bound_the_failures() -> None:
    """The one judgement behind all rates would be told as if it were sure."""
    known = tables(thing(km=10000))
    rows = [
        one.model_copy(update={"low": 2.0, "high": 10.0}) if one.name == "repair_after_failure_hours" else one
        for one in known.assumptions
    ]
    s, standings = looked_at(TWO_LEGS, *DONE, catalogue=known.model_copy(update={"assumptions": tuple(rows)}))
    law = laws(courses(standings, stated(TWO_LEGS, *DONE, catalogue=known), s), s)
    assert law.at_most[0] == pytest.approx(ACT / (2 * 60 + 270)) and law.at_least[0] == pytest.approx(ACT / 870)


def test_the_last_renewal_before_a_leg() -> None:
    """A leg would be reckoned from work that lies behind it; two workshop days, three legs."""
    found = last_renewals([(), (1,), (0, 3), (2, 5)], home=2, legs=3)
    assert found.tolist() == [[-1, -1, -1], [1, 1, 1], [0, 3, 3], [2, 2, 2]]


def test_powers_by_roots_are_those_of_the_power() -> None:
    """A short cut would change the law."""
    share = np.array([[0.0, 0.3, 1.7]] * 6)
    power = np.array([1.5, 2.0, 2.5, 3.5, 4.0, 1.8])
    np.testing.assert_allclose(powered(share, power), share ** power[:, None], rtol=1e-12)


def test_a_stop_that_waits_for_its_arrival_counts_its_days() -> None:
    """Months would stand still while the rig does: leg 1 ends when the stop is reached."""
    at = stop("Far", 1, date(2026, 7, 21))
    w = reckoned(trip(leg(1, 100), leg(2, 100, date(2026, 7, 22)), stops=(at,)), tables(thing(months=12)),
                 row(date(2026, 1, 1), 100000, "bearings", "repack"), *DONE[1:])  # fmt: skip
    days = [(day - date(2026, 1, 1)).days / 365 for day in (DEPART, date(2026, 7, 21), date(2026, 7, 31))]
    found = failures(w, [(0, ())])[0] @ w.doubts.weights
    np.testing.assert_allclose(found, ACT / FAILURE * np.diff(np.array(days) ** 2), rtol=1e-9)
