"""Both sides of an axle: which tasks are twins."""

from datetime import date

from tests.small import TODAY, leg, row, stated, tables, thing, trip
from tripplan.placing.problem import PlacementProblem

HUB = thing("hub", km=1000, positions="left;right", place="front wheel end", state="wheel off")
SEAL = thing("seal", act="renew", km=1000, positions="left;right", covers="hub")
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


def test_what_was_found_bad_on_both_is_one_job_whenever_each_was_done() -> None:
    """If not, linings renewed left in time would wait for home on the right, because that side is newer."""
    rows = (
        row(date(2022, 1, 1), 0, "hub", "repack", position="left"),
        row(date(2026, 6, 1), 400, "hub", "repack", 3, position="right"),
        row(date(2026, 6, 2), 400, "hub", "look", 4, finding="failed"),
    )  # fmt: skip
    assert names(sides(*rows)) == [("hub", "left", "right")]
    assert names(sides(*rows[:2])) == []


def test_what_is_done_on_the_way_has_to_be_paired_as_well() -> None:
    """If not, the twin of a hub opened for its seal would be opened for nothing."""
    both = tables(HUB, SEAL)
    alike = sides(row(TODAY, 100, "hub", "repack"), row(TODAY, 100, "seal", "renew", 3), catalogue=both)
    assert names(alike) == [("hub", "left", "right"), ("seal", "left", "right")]
    odd = sides(
        row(TODAY, 300, "hub", "repack"), row(TODAY, 100, "seal", "renew", 3, position="left"),
        row(TODAY, 400, "seal", "renew", 4, position="right"), catalogue=both,
    )  # fmt: skip
    assert names(odd) == []


def test_a_look_with_the_wheels_off_the_ground_is_one_job_whatever_does_it_on_the_way() -> None:
    """If not, the play of the left wheel would be measured at one stop and that of the right at the next."""
    play = thing("play", act="measure", km=2000, positions="left;right", place="front wheel end", state="wheel raised")
    seal = thing(
        "seal", act="renew", km=1000, positions="left;right", place="front wheel end", state="hub off", covers="play"
    )
    given = sides(
        row(TODAY, 300, "play", "measure"), row(TODAY, 100, "seal", "renew", 3, position="left"),
        row(TODAY, 400, "seal", "renew", 4, position="right"), catalogue=tables(play, seal),
    )  # fmt: skip
    assert names(given) == [("play", "left", "right")]


def test_a_look_that_comes_along_at_once_stays_one_job_whatever_its_brakes_went_through() -> None:
    """If not, the play of one wheel would be measured, and that of the other left."""
    brakes = thing("brakes", act="adjust", km=1000, positions="left;right", covers="play", follow_ups="play 0-0 km")
    play = thing("play", act="measure", km=2000, positions="left;right")
    given = sides(
        row(TODAY, 300, "play", "measure"), row(TODAY, 100, "brakes", "adjust", 3, position="left"),
        row(TODAY, 450, "brakes", "adjust", 4, position="right"), catalogue=tables(brakes, play),
    )  # fmt: skip
    assert names(given) == [("play", "left", "right")]
    of_play = [by for task, by in zip(given.tasks, given.covered_by, strict=True) if task.item.id == "play"]
    assert of_play == [(), ()]  # brakes of one side alone do not do the job of both


def test_what_opens_nothing_is_one_job_whatever_covers_it() -> None:
    """If not, one knuckle would be topped up before the trip, and the other driven dry for being rebuilt after it."""
    topup = thing("topup", act="grease", km=1000, positions="left;right")
    rebuild = thing("rebuild", act="renew", km=2000, positions="left;right", covers="topup", place="front wheel end", state="wheel off")  # fmt: skip
    given = sides(
        row(TODAY, 100, "topup", "grease"), row(TODAY, 100, "rebuild", "renew", 3, position="right"),
        catalogue=tables(topup, rebuild),
    )  # fmt: skip
    assert names(given) == [("topup", "left", "right")]
