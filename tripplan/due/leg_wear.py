"""What each leg still to be driven takes out of each meter of an item, as it goes into the plan."""

from collections.abc import Iterator

from tripplan.due.runs_out import MeterCourse
from tripplan.due.standing import Situation, Standing, wet_use
from tripplan.records.plan import Factor, Wear
from tripplan.trip.timeline import leg_ends


def leg_wear(standing: Standing, s: Situation) -> tuple[Wear, ...]:
    """One record a leg and meter, the legs in order; months are not worn."""
    ends = leg_ends(s.timeline)
    return tuple(wear for track in standing.course.tracks for wear in _of_meter(track, standing, s, ends))


def _of_meter(track: MeterCourse, standing: Standing, s: Situation, ends: tuple[int, ...]) -> Iterator[Wear]:
    kind = s.severity.of(standing.item, standing.unit)
    typical, low, high = (values.tolist() for values in (kind.typical, kind.low, kind.high))
    first, before = 0, 0.0
    for index, end in enumerate(ends):
        use, reserve = sum(track.use_per_stretch[first:end]), track.reserve[end - 1]
        water, extra = _water(standing, track, index, s)
        if not s.is_driven(index) and use + extra > 0:
            yield Wear(
                leg=s.timeline.legs[index].leg, meter=track.meter, use=use, multiplier=typical[index], low=low[index],
                high=high[index], reserve=reserve - before, water_use=extra, parts=kind.factors[index], water=water,
            )  # fmt: skip
        first, before = end, reserve


def _water(standing: Standing, track: MeterCourse, leg_index: int, s: Situation) -> tuple[tuple[Factor, ...], float]:
    """The factors of the leg's crossings, and what they add in the meter's unit."""
    own = [one for one in standing.wet if one.leg_index == leg_index]
    uses = [wet_use(one, standing.unit, track.meter, s) for one in own]
    added = sum(use * (one.factor.multiplier - 1) for one, use in zip(own, uses, strict=True))
    return tuple(one.factor for one in own), added
