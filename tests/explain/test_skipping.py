"""What leaving a job out adds, in words beside the job that it belongs to."""

import pytest
from msgspec.structs import replace

from tests.placing.by_hand import CAMP, DAY, HOME, WHEEL, given, placing, task
from tests.sample_slots import first_day, road_slots, second_day
from tests.small import thing
from tripplan.explain.skipping import skip_words, with_skips
from tripplan.records.plan_risk import Skip


def skip(hours: float, lost: float) -> Skip:
    """A job left out that adds so many hours and takes so much of the chance to come home."""
    return Skip(failures_expected=lost, stops_expected=lost, standing_hours_expected=hours, home_without_a_stop=lost)


@pytest.mark.parametrize(
    ("hours", "lost", "words"),
    [
        (0.049, 0.001, "Left out, it adds next to nothing to the standing to be expected on this trip."),
        (0.05, 0.001, "Left out, it adds 0.1 h to the standing to be expected, and of 100 such trips 0.1 fewer come home "
                      "without a stop."),
        (3.21, 0.0149, "Left out, it adds 3.2 h to the standing to be expected, and of 100 such trips 1.5 fewer come home "
                       "without a stop."),
        (3.21, 0.015, "Left out, it adds 3.2 h to the standing to be expected, and of 100 such trips 2 fewer come home "
                      "without a stop."),
    ],
)  # fmt: skip
def test_what_it_adds_in_words(hours: float, lost: float, words: str) -> None:
    """If not, an owner short of an hour could not tell a job that matters from one that does not."""
    assert skip_words(skip(hours, lost), False) == words
    assert (
        skip_words(skip(hours, lost), True)
        == f"{words} Its failure can hurt somebody, which hours of standing do not count."
    )


def test_each_job_gets_its_own() -> None:
    """If not, leaving the oil would be told with the hours of the bearing: jobs stand in the order of the work."""
    harmful = task(0, 20, WHEEL, item=thing("item_0", place="front wheel end", harms=True, harms_by="wheels"))
    three = given(harmful, task(1, 10), task(2, 5))
    plan = placing((DAY,), (DAY, CAMP), (CAMP,))
    jobs = first_day().jobs[:3]
    slots = [replace(first_day(), jobs=jobs), replace(second_day(), jobs=jobs[:2]), replace(road_slots()[0], jobs=())]
    skips = {(0, DAY): skip(1.0, 0.1), (1, DAY): skip(2.0, 0.1), (1, CAMP): skip(3.0, 0.1)}
    found = with_skips(slots, three, plan, skips)
    hours = [[job.skip.standing_hours_expected if job.skip else None for job in slot.jobs] for slot in found]
    assert hours == [
        [1.0, 2.0, None],
        [3.0, None],
        [],
    ]  # at a wheel end the innermost stands first; a look again has none
    first, second = found[DAY].jobs[0].skip, found[DAY].jobs[1].skip
    assert first and second and "hurt" in first.text and "hurt" not in second.text
    assert found[HOME].jobs == ()
