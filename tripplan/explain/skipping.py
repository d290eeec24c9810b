"""What leaving a job out adds to the risk of the trip, in words beside the job."""

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from tripplan.explain.working_order import working_order
from tripplan.placing.problem import PlacementProblem, Placing
from tripplan.records.plan_risk import Skip
from tripplan.records.plan_work import Job, Slot

LEAST_HOURS = 0.05
"""Less standing than this is told as next to nothing."""


def with_skips(
    slots: Sequence[Slot], problem: PlacementProblem, placing: Placing, skips: Mapping[tuple[int, int], Skip]
) -> tuple[Slot, ...]:
    """The slots with what each job's leaving out adds; jobs stand in the order of `working_order`."""
    found = []
    for site, slot in enumerate(slots):
        numbers = [number for number, visits in enumerate(placing.visits) if site in visits]
        numbers.sort(key=lambda number: working_order(problem.tasks[number]))
        told = [skips.get((number, site)) for number in numbers]
        jobs = [
            replace(job, skip=replace(skip, text=skip_words(skip, problem.tasks[number].item.harms))) if skip else job
            for job, skip, number in zip(slot.jobs, told, numbers, strict=False)
        ]
        rest: tuple[Job, ...] = slot.jobs[len(jobs) :]
        found.append(replace(slot, jobs=(*jobs, *rest)))
    return tuple(found)


def skip_words(skip: Skip, harms: bool) -> str:
    """One or two sentences: the standing it adds, the chance it takes, and what hours do not count."""
    harm = " Its failure can hurt somebody, which hours of standing do not count." if harms else ""
    if skip.standing_hours_expected < LEAST_HOURS:
        return f"Left out, it adds next to nothing to the standing to be expected on this trip.{harm}"
    lost = skip.home_without_a_stop * 100
    told = f"{lost:.0f} fewer" if lost >= 1.5 else f"{lost:.1f} fewer"
    return (
        f"Left out, it adds {skip.standing_hours_expected:.1f} h to the standing to be expected, and of 100 such trips "
        f"{told} come home without a stop.{harm}"
    )
