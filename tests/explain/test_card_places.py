"""What a case of a crossing adds at later places, held against a plan worked out by hand."""

from datetime import date
from typing import Any

from tests.small import TODAY, crossing, leg, rig, row, stop, tables, thing, trip, wagon, water_rule
from tripplan.explain.card_places import CardJob, CardPlace
from tripplan.explain.cards import CrossingCard, crossing_cards
from tripplan.placing.greedy import place_greedily
from tripplan.planner import look_around, make_plan

HUB = thing("bearings", points="hub_centre", water="high", km=900)
RULES = (
    water_rule("bearings", "before remote", "repack", within_days=20, resets=True, facility="town"),
    water_rule("bearings", "days", "look", within_days=9),
)
LEGS = (
    leg(1, 300),
    leg(2, 400, date(2026, 7, 3)),
    leg(3, 300, date(2026, 7, 9)),
    leg(4, 100, date(2026, 7, 12), remote=True),
)
BANK = stop("Bank", 2, date(2026, 7, 4), facility="camp", minutes=300)
TOWN = stop("Town", 2, date(2026, 7, 5), facility="town", minutes=300)
CAMP = stop("Camp", 3, date(2026, 7, 10), facility="camp", minutes=300)
WAGON = wagon(heights_mm={"door_sill": 650})


def card(depth_m: float, with_plan: bool, **changes: Any) -> CrossingCard:
    """The card of one ford on the second leg; hubs were last packed on the day before departure unless told."""
    packed = row(changes.pop("packed", TODAY), 0, "bearings", "repack", 3)
    stops = changes.pop("stops", (BANK, TOWN, CAMP))
    inputs = (rig(WAGON), (packed, row(TODAY, 0)), trip(*LEGS, crossings=(crossing(2, 20, depth_m),), stops=stops))
    known = tables(HUB, water_rules=RULES)
    plan = make_plan(*inputs, known, TODAY, place=place_greedily) if with_plan else None
    return crossing_cards(look_around(*inputs, known, TODAY), plan)[0]


def places(found: CrossingCard, key: str = "reached") -> tuple[CardPlace, ...]:
    """What one case adds."""
    return next(case.places for case in found.cases if case.key == key)


def test_the_job_goes_to_the_last_place_in_time_that_has_what_it_takes() -> None:
    """If not, a hub would be packed at a bush camp. The camp behind the town is later, and no town."""
    repack = CardJob(act="repack", name="bearings")
    assert places(card(0.2, with_plan=False)) == (CardPlace(place="Town", day=date(2026, 7, 5), jobs=(repack,)),)


def test_where_no_place_in_time_has_what_it_takes_it_is_said() -> None:
    """If not, a camp in time would hide that nobody can pack the hub before the remote leg."""
    (nowhere,) = places(card(0.2, with_plan=False, stops=(BANK, CAMP)))
    assert nowhere == CardPlace(place="", day=None, jobs=(CardJob(act="repack", name="bearings"),))


def test_a_repack_that_the_plan_does_in_time_for_its_age_is_not_added() -> None:
    """If not, the card would ask for the hub that is packed there anyway: 900 km run out on the third leg."""
    assert places(card(0.2, with_plan=True)) == ()
    assert places(card(0.2, with_plan=False)) != ()


def test_looks_are_left_to_their_windows() -> None:
    """If not, the line for the later days would repeat the looks that stand above it."""
    named = {job.act for case in card(0.2, with_plan=False).cases for place in case.places for job in place.jobs}
    assert named == {"repack"}
