"""What lateness costs, read out of the interval itself.

Whoever set an interval weighed the work against the failures. Turned around: an interval that
is right in normal use at home tells what running towards it and past it costs. Failures follow
a power law in the share used, u (1 = the interval), with minimal repair; the long-run cost of
an interval is least at u = 1 where the failures up to there cost P / (b - 1), with P what the
act costs at home and b the shape of the item's life. Nothing here is guessed but b.

Money in the owner's own currency, shares of an interval, hours.
"""

from math import exp, log
from typing import Final

from tripplan.records.words import Act
from tripplan.wear.mechanisms.arrays import Floats, within
from tripplan.wear.mechanisms.uncertain import Z95

LATENESS: Final = "price of lateness"
LOOK_SHAPE: Final = 2.0
"""Missed faults grow with the square of a short interval between looks (delay time, Christer and Waller 1984)."""
LEAST_SHAPE: Final = 1.5
"""A life that hardly ages gives no interval at all; below this shape an interval is the owner's habit."""
RENEWING: Final = frozenset(Act) - {Act.LOOK, Act.MEASURE, Act.EXERCISE}
"""Acts that give back life; the others look or measure, and only find what has begun to fail."""


def shape_of(act: str, life_shape: float) -> float:
    """The power by which failures grow with the share used.

    Gives      b, 1.5 or more. One number out.
    Takes      act         the act's word
               life_shape  Weibull shape of the item's life, 1 to 6
    Formula    max(life_shape, 1.5) for an act that gives back life; 2 for a look or a measurement
    Holds for  life_shape 1 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     shape_of("measure", 3) -> 2
    Source     delay time, Christer and Waller 1984 (memory); that 1.5 is the least is ours
    Basis      judgement
    Checked    tests/placing/test_lateness.py
    """
    within("life shape", life_shape, 1.0, 6.0, "1", LATENESS)
    return max(life_shape, LEAST_SHAPE) if act in RENEWING else LOOK_SHAPE


def lateness(share: Floats, act_price: float, shape: float) -> Floats:
    """Expected cost of failures from new up to a share of the interval, in normal use at home.

    Gives      money. Same shape as the argument.
    Takes      share      share of the interval used, 0 or more
               act_price  what the act costs at home: labour, its fair share of opening
               shape      b, the power of `shape_of`
    Formula    P u^b / (b - 1)
    Holds for  share 0 to 1000, act_price 0 or more, shape 1.05 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     lateness(0.5, 60, 2) -> 15
    Source     minimal repair, Barlow and Hunter 1960 (memory), turned around here
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    _within(share, act_price, shape)
    return act_price * share**shape / (shape - 1.0)


def least_rate(act_price: float, shape: float) -> float:
    """The least cost an interval that anybody can keep to, normal use at home.

    Gives      money an interval. One number out.
    Takes      act_price  what the act costs at home
               shape      b, the power of `shape_of`
    Formula    P b / (b - 1) = (P + L(1)) / 1 = L'(1)
    Holds for  act_price 0 or more, shape 1.05 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     least_rate(60, 2) -> 120
    Source     minimal repair, Barlow and Hunter 1960 (memory), turned around here
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    _within(0.0, act_price, shape)
    return act_price * shape / (shape - 1.0)


def worth_of_state(share: Floats, act_price: float, shape: float) -> Floats:
    """What a part used so far is worth less than a new one, to whoever goes on at home.

    Gives      money, from 0 (new) to P (used up). Same shape as the argument.
    Takes      share      share of the interval used, 0 or more
               act_price  what the act costs at home
               shape      b, the power of `shape_of`
    Formula    P - g (1 - u) + L(1) - L(u) up to u = 1, then P: the cost still to come until the
               act at u = 1, less the same for a new part, both at the rate g
    Holds for  share 0 to 1000, act_price 0 or more, shape 1.05 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     worth_of_state(0.5, 60, 2) -> 45
    Source     minimal repair, Barlow and Hunter 1960 (memory), turned around here
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    _within(share, act_price, shape)
    used = at_most_one(share)
    rise = lateness(1.0, act_price, shape) - lateness(used, act_price, shape)
    return act_price - least_rate(act_price, shape) * (1.0 - used) + rise


def dearness(hours: float, hours_at_home: float, strands: float, hour_price: float, repair_price: float) -> float:
    """How many times as dear a failure is on a leg as at home.

    Gives      factor, 1 or more. One number out.
    Takes      hours          to help and back on the leg
               hours_at_home  the same at home
               strands        share of those hours that the failure costs, 0 to 1
               hour_price     what an hour of standing costs
               repair_price   what putting a failure right costs, wherever it happens
    Formula    (repair + hours x strands x price) / (repair + hours at home x strands x price), at least 1
    Holds for  hours 0 to 10000, strands 0 to 1, prices 0 or more, repair above 0.
    Refuses    OutOfRange outside those limits.
    Worked     dearness(48, 2, 1, 90, 300) -> 9.625
    Source     the two costs of one failure, set against each other
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    for name, value in (("hours to help", hours), ("hours at home", hours_at_home)):
        within(name, value, 0.0, 1e4, "h", LATENESS)
    here = failure_price(hours, strands, hour_price, repair_price)
    return max(1.0, here / failure_price(hours_at_home, strands, hour_price, repair_price))


def failure_price(hours: float, strands: float, hour_price: float, repair_price: float) -> float:
    """What one failure costs: putting it right, and standing meanwhile.

    Gives      money. One number out.
    Takes      hours         to help and back
               strands       share of those hours that the failure costs, 0 to 1
               hour_price    what an hour of standing costs
               repair_price  what putting a failure right costs
    Formula    repair + hours x strands x price
    Holds for  hours 0 to 10000, strands 0 to 1, prices 0 or more, repair above 0.
    Refuses    OutOfRange outside those limits.
    Worked     failure_price(2, 0.5, 90, 300) -> 390
    Source     sum of its parts
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    within("hours", hours, 0.0, 1e4, "h", LATENESS)
    within("strands", strands, 0.0, 1.0, "share", LATENESS)
    within("hour price", hour_price, 0.0, 1e9, "money", LATENESS)
    within("repair price", repair_price, 1e-9, 1e9, "money", LATENESS)
    return repair_price + hours * strands * hour_price


def mean_power(share: Floats, share_reserve: Floats, shape: float) -> Floats:
    """The average of u^b where the wear is in doubt.

    Gives      share to the power b, averaged over the doubt. Same shape as the arguments.
    Takes      share          typical share used, 0 or more: the median
               share_reserve  the share that only 1 in 20 exceeds, not below it
               shape          b, the power of `shape_of`
    Formula    u^b exp(b^2 s^2 / 2), s = ln(reserve / typical) / 1.644854; u lognormal
    Holds for  shares 0 to 1000, reserve over typical 1 to 1000, shape 1.05 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     mean_power(1, 2, 2) -> 1.426412
    Source     moments of a lognormal law, read on a software page
    Basis      published
    Checked    tests/placing/test_lateness.py
    """
    _within(share, 0.0, shape)
    if isinstance(share, int | float) and isinstance(share_reserve, int | float):
        ratio = max(share_reserve / share, 1.0) if share > 0 else 1.0
        within("reserve over typical", ratio, 1.0, 1000.0, "factor", LATENESS)
        spread = log(ratio) / Z95
        return float(share**shape * exp(shape**2 * spread**2 / 2))
    import numpy as np

    reserve_ratio = np.maximum(np.asarray(share_reserve) / np.where(np.asarray(share) > 0, share, 1.0), 1.0)
    within("reserve over typical", reserve_ratio, 1.0, 1000.0, "factor", LATENESS)
    spreads = np.where(np.asarray(share) > 0, np.log(reserve_ratio) / Z95, 0.0)
    return np.asarray(np.asarray(share) ** shape * np.exp(shape**2 * spreads**2 / 2))


def failures_at_interval(act_price: float, price_of_failure: float, shape: float) -> float:
    """Failures expected in one interval that is kept, in normal use at home.

    Gives      count. One number out.
    Takes      act_price         what the act costs at home
               price_of_failure  what a failure costs there
               shape             b, the power of `shape_of`
    Formula    L(1) / F
    Holds for  act_price 0 or more, price of failure above 0, shape 1.05 to 6.
    Refuses    OutOfRange outside those limits.
    Worked     failures_at_interval(15, 480, 2) -> 0.03125
    Source     minimal repair, Barlow and Hunter 1960 (memory), turned around here
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    within("price of failure", price_of_failure, 1e-9, 1e12, "money", LATENESS)
    return float(lateness(1.0, act_price, shape)) / price_of_failure


def at_most_one(share: Floats) -> Floats:
    """A share of the interval, one that is past it counted as used up.

    Gives      the smaller of the share and 1. Same shape as the argument.
    Takes      share  share of the interval used
    Formula    min(1, share)
    Holds for  every number.
    Refuses    nothing.
    Worked     at_most_one(1.7) -> 1
    Source     a part used up is worth no less than the act that renews it
    Basis      derived
    Checked    tests/placing/test_lateness.py
    """
    if isinstance(share, int | float):
        return min(1.0, share)
    import numpy as np

    return np.minimum(share, 1.0)


def _within(share: Floats, act_price: float, shape: float) -> None:
    within("share used", share, 0.0, 1e6, "share", LATENESS)
    within("price of the act", act_price, 0.0, 1e9, "money", LATENESS)
    within("shape", shape, 1.05, 6.0, "1", LATENESS)
