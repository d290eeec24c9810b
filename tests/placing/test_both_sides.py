"""Both sides of an axle: which tasks are twins, as one task, and brought together afterwards."""

from dataclasses import replace

import pytest

from tests.placing.small_placements import problem, with_twin
from tests.small import TODAY, leg, row, stated, tables, thing, trip
from tripplan.placing.both_sides import brought_together, joined, split_twins
from tripplan.placing.optimise import priced
from tripplan.placing.problem import AFTER, STOP, PlacementProblem, Placing

HUB = thing("hub", km=1000, positions="left;right", place="front wheel end", state="wheel off")
SEAL = thing("seal", act="renew", km=2000, positions="left;right", covers="hub")
ONE_TRIP = trip(leg(1, 300))


def sides(*rows: object, catalogue: object = None) -> PlacementProblem:
    """The placing problem of that history."""
    return stated(ONE_TRIP, *rows, row(TODAY, 500, number=9), catalogue=catalogue or tables(HUB))  # type: ignore[arg-type]


def names(given: PlacementProblem) -> list[tuple[str, str | None, str | None]]:
    """Item and sides of each pair."""
    return [(given.tasks[a].item.id, given.tasks[a].position, given.tasks[b].position) for a, b in given.twins]


def test_two_sides_equally_far_gone_are_twins() -> None:
    """If not, a bearing would be packed on the left at one stop and on the right at the next."""
    assert names(sides(row(TODAY, 100, "hub", "repack"))) == [("hub", "left", "right")]


def test_sides_with_another_past_are_not() -> None:
    """If they were, a bearing renewed last week would be opened with its old twin."""
    given = sides(
        row(TODAY, 100, "hub", "repack", position="left"), row(TODAY, 400, "hub", "repack", 3, position="right")
    )
    assert names(given) == []


def test_what_is_done_on_the_way_has_to_be_paired_as_well() -> None:
    """If not, the twin of a hub opened for its seal would be opened for nothing."""
    both = tables(HUB, SEAL)
    alike = sides(row(TODAY, 100, "hub", "repack"), row(TODAY, 100, "seal", "renew", 3), catalogue=both)
    assert names(alike) == [("hub", "left", "right"), ("seal", "left", "right")]
    odd = sides(
        row(TODAY, 300, "hub", "repack"), row(TODAY, 100, "seal", "renew", 3, position="left"),
        row(TODAY, 200, "seal", "renew", 4, position="right"), catalogue=both,
    )  # fmt: skip
    assert names(odd) == []


@pytest.mark.parametrize("seed", range(20))
def test_as_one_task_the_minutes_and_the_risk_are_those_of_both(seed: int) -> None:
    """If not, the cheapest plan would be looked for under wrong prices."""
    given = with_twin(problem(seed, 3, 1, 2))
    one = joined(given)
    assert sorted(side for group in one.stands_for for side in group) == list(range(len(given.tasks)))
    assert one.stands_for[0] == given.twins[0]
    left, right = (given.tasks[index] for index in given.twins[0])
    assert one.problem.tasks[0].minutes == left.minutes + right.minutes
    assert set(one.problem.tasks[0].opens) == {*left.opens, *right.opens}
    for p, cost in enumerate(one.problem.tasks[0].strand):
        assert cost == pytest.approx([a + b for a, b in zip(left.strand[p], right.strand[p], strict=True)])
    assert one.apart({0: [2]}) == {0: [2], given.twins[0][1]: [2]}


def roomy(minutes: float) -> PlacementProblem:
    """A task and its twin, two stops of those minutes, either in reach."""
    given = with_twin(problem(3, 1, 0, 2))
    sites = tuple(replace(s, minutes=minutes) if s.kind == STOP else s for s in given.sites)
    tasks = tuple(
        replace(t, minutes=30, opens=(), facility="camp", earliest=0, reach=(2,) * 4, overdue=False)
        for t in given.tasks
    )
    assert [s.kind for s in sites] == [STOP, STOP, AFTER]
    return replace(given, sites=sites, tasks=tasks)


@pytest.mark.parametrize(("minutes", "places"), [(60, 1), (59, 2)])
def test_a_side_is_brought_to_the_other_where_there_is_room(minutes: float, places: int) -> None:
    """If not, a long trip would have the axle opened twice, or a stop would be filled past its time."""
    given = roomy(minutes)
    apart = Placing(((0,), (1,)), (), "solved")
    assert split_twins(given, apart) == ((0, 1),)
    found = brought_together(given, apart, lambda placing: priced(given, placing))
    assert len({site for at in found.visits for site in at}) == places
    if places == 1:
        assert priced(given, found)[1] == min(
            priced(given, Placing(((site,), (site,)), (), "solved"))[1] for site in (0, 1)
        )
