"""Trips driven one by one, to hold the closed form against: doubts and failures are drawn, nothing is averaged.

For each trip one standard normal number a mechanism is drawn (the same dust for every item), and with it every
multiplier of every leg; km, hours and days pile up; failures come as arrivals of each item's power law with
minimal repair; each stops the rig or not. Only the laws, the records and the paths are the program's.
"""

from dataclasses import dataclass

import numpy as np

from tripplan.due.standing import Situation, Standing, wet_use
from tripplan.risk.cases import Case
from tripplan.risk.reckoned import Reckoned
from tripplan.trip.timeline import leg_ends
from tripplan.wear.mechanisms.uncertain import NODES
from tripplan.wear.multipliers import MECHANISMS, WATER_GRADES

Array = np.ndarray
Z95 = 1.6448536269514722
assert WATER_GRADES[0] == "none"


@dataclass(frozen=True)
class Driven:
    """What happened on each trip: failures, stops, hours stood; and what was to be expected of it, doubts known."""

    failures: Array
    stops: Array
    hours: Array
    expected_hours: Array


def drive(
    r: Reckoned, case: Case, s: Situation, trips: int, seed: int, shape: float = 1.0, scale: float = 1.0
) -> Driven:
    """So many trips in one case. `shape` times the true power, `scale` times the true lives, against the laws stated."""
    chance = np.random.default_rng(seed)
    doubts = chance.standard_normal((trips, len(MECHANISMS)))
    failures, stops, hours, expected = (np.zeros(trips) for _ in range(4))
    law = r.worn.law
    for item, standing in enumerate(r.worn.courses.standings):
        power = max(1.0, law.shape[item] * shape)
        hazard = _hazard(r, case, s, item, standing, doubts, power, scale) * law.at_interval[item]
        if item in r.work.wet_from_km:
            hazard = hazard + r.failures(case, [item])[0, :, :1].T - r.found[r.known[(item, case.paths[item])]][:, :1].T
        came = _arrivals(chance, hazard)
        stood = chance.binomial(came, law.strands[item])
        failures += came.sum(axis=1)
        stops += stood.sum(axis=1)
        hours += stood @ r.worn.standing_hours
        expected += law.strands[item] * hazard @ r.worn.standing_hours
    return Driven(failures, stops, hours, expected)


def _arrivals(chance: np.random.Generator, hazard: Array) -> Array:
    """Failures by trip and leg: arrivals at the sums of exponential numbers in cumulative hazard."""
    ends = np.cumsum(hazard, axis=1)
    counts = np.zeros(hazard.shape, dtype=np.int64)
    at = chance.exponential(size=len(hazard))
    rows = np.flatnonzero(at < ends[:, -1])
    while len(rows):
        legs = (at[rows, None] >= ends[rows]).sum(axis=1)
        np.add.at(counts, (rows, legs), 1)
        at[rows] += chance.exponential(size=len(rows))
        rows = rows[at[rows] < ends[rows, -1]]
    return counts


def _hazard(
    r: Reckoned, case: Case, s: Situation, item: int, standing: Standing, doubts: Array, power: float, scale: float
) -> Array:
    """What each leg adds to share^power, by trip and leg."""
    knots, path = r.work.knots, case.paths[item]
    shares = [share / scale for share in shares_of(r, s, item, standing, doubts)]
    found = np.zeros((len(doubts), knots.legs))
    for number, share in enumerate(shares):
        days = knots.days if number == len(shares) - 1 and standing.course.months else knots.driving_days
        for leg in range(knots.legs):
            start, end = share[:, knots.home + leg], share[:, knots.home + leg + 1]
            before = [knot for knot in path if knot <= knots.home + leg]
            if r.worn.courses.each_morning[item]:
                grown = days[leg] * ((end - start) / days[leg]) ** power
            else:
                base = share[:, max(before)] if before else -r.worn.courses.extra[item] / scale
                grown = np.maximum(end - base, 0) ** power - np.maximum(start - base, 0) ** power
            found[:, leg] = np.maximum(found[:, leg], grown)
    return found


def shares_of(r: Reckoned, s: Situation, item: int, standing: Standing, doubts: Array) -> list[Array]:
    """The share used at every knot of each meter, months last, by trip."""
    c, found = r.worn.courses, []
    rows = np.flatnonzero(c.row_item == item)
    for row, track in zip(rows, standing.course.tracks, strict=True):
        start = np.full(len(doubts), track.total.use[0])
        if track.total.excess.ndim > 1:
            for mechanism in range(len(MECHANISMS)):
                start = start + np.interp(doubts[:, mechanism], NODES, track.total.excess[0, mechanism])
        steps = _legs(s, standing, track, doubts)
        driven = np.concatenate([start[:, None], start[:, None] + np.cumsum(steps, axis=1)], axis=1) / track.interval
        found.append(np.concatenate([driven[:, :1] - c.home_use[row][None, :], driven], axis=1))
    if standing.course.months:
        found.append(np.broadcast_to(c.calendar[item], (len(doubts), c.calendar.shape[1])))
    return found


def _legs(s: Situation, standing: Standing, track: object, doubts: Array) -> Array:
    """Wear of each leg on each trip, from the multipliers of its conditions and the crossings on it."""
    factors = s.severity.of(standing.item, standing.unit).factors
    uses, first = track.use_per_stretch, 0  # type: ignore[attr-defined]
    found = np.zeros((len(doubts), len(s.timeline.legs)))
    for leg, end in enumerate(leg_ends(s.timeline)):
        use = sum(uses[first:end])
        first = end
        total, distance = np.ones(len(doubts)), np.ones(len(doubts))
        for number, name in enumerate(MECHANISMS):
            product = np.ones(len(doubts))
            for one in factors[leg]:
                if one.mechanism == name and name != "distance":
                    product = product * (1 + _excess(one.multiplier, one.high, doubts[:, number]))
                elif one.mechanism == name:
                    distance = one.high ** (doubts[:, number] / Z95)
            total = total + product - 1
        found[:, leg] = use * total
        middle = 1 + sum(np.prod([f.multiplier for f in factors[leg] if f.mechanism == m]) - 1 for m in MECHANISMS)
        found[:, leg] += use * middle * (distance - 1)
        for one in standing.wet:
            if one.leg_index == leg and not s.is_driven(leg):
                water = _excess(one.factor.multiplier, one.factor.high, doubts[:, MECHANISMS.index("water")])
                found[:, leg] += wet_use(one, standing.unit, track.meter, s) * water  # type: ignore[attr-defined]
    return found


def _excess(typical: float, high: float, normal: Array) -> Array:
    """A lognormal excess over 1: the typical in the middle, the high for 1 in 20."""
    if typical <= 1:
        return np.asarray((high - 1) * np.maximum(normal, 0) / Z95)
    return np.asarray((typical - 1) * ((high - 1) / (typical - 1)) ** (normal / Z95))
