"""What looks decide: clean strikes, a finding asks for the work, and the worst hub is the one to open."""

from datetime import date
from typing import Any

from tests.small import camper, crossing, leg, row, tables, thing, trip, wagon, water_rule
from tripplan.records.facts_in import HistoryRow
from tripplan.trip.timeline import build_timeline
from tripplan.water.crossing import Call, calls
from tripplan.water.lines import BowWave
from tripplan.wear.last_done import read_history

WAVE = BowWave(0.10, 0.25, 0.0, 0.15)
MADE, NEXT = date(2026, 7, 1), date(2026, 7, 2)
PLAY = thing("play", positions="left;right", points="hub_centre", act="measure", family="bearing")
HUB = thing("hub", positions="left;right", points="hub_centre", act="repack", family="bearing")
SEAL = thing("seal", positions="left;right", points="hub_centre", act="renew", family="seal")
HAND = water_rule("play", "halt", "look", within_km=50, from_grade=2, line="high")
LOOK = water_rule("play", "night", "measure", within_hours=24, from_grade=2)
REPACK = water_rule(
    "hub", "before remote", "repack", within_days=5, from_grade=5, told_from=2, owner_from=2, decided_by="play measure"
)
SAMPLE = water_rule("hub", "days", "look", within_days=2, from_grade=3, sample=True)
AGAIN = water_rule("play", "later", "look", within_km=500, from_grade=2, decided_by="play measure")


def found(
    *rows: HistoryRow, rules: tuple[Any, ...] = (REPACK,), hubs: Any = None, today: date | None = None, **ford: Any
) -> tuple[Call, ...]:
    """What a ford at hub height calls for, with those rows written."""
    known = tables(PLAY, HUB, SEAL, water_rules=rules)
    made = crossing(1, 100, ford.pop("depth_m", 0.45), **{"crossed": MADE, "minutes": 3, **ford})
    line = build_timeline(trip(leg(1, 300, MADE), leg(2, 400, NEXT, remote=True), crossings=(made,)), 8)
    pairs = [(wagon(), item, side) for item in (PLAY, HUB, SEAL) for side in item.positions]
    return calls(pairs, line, known, read_history(rows, known), WAVE, hubs, today)


def said(called: tuple[Call, ...]) -> list[tuple[str | None, str, bool]]:
    """Side, act, and whether it is left to a look."""
    return [(call.position, call.rule.act, call.contingent) for call in called]


def look(finding: str, side: str = "left", act: str = "measure", item: str = "play", day: date = NEXT) -> HistoryRow:
    """A look after the crossing."""
    return row(day, None, item, act, position=side, finding=finding)


def test_what_a_look_decides_is_told_and_not_asked_for() -> None:
    """If not, hubs would be opened that published practice only looks at."""
    assert said(found()) == [("left", "repack", True), ("right", "repack", True)]


def test_a_clean_look_strikes_it() -> None:
    """If not, the owner would carry on worrying about a hub that is clean."""
    assert said(found(look("serviceable"))) == [("right", "repack", True)]
    assert said(found(look("as new"), water="muddy")) == [("right", "repack", True)]


def test_milk_or_water_asks_for_it() -> None:
    """If not, water found in a hub would go on into the remote leg. Opened where hot or leaking: TM 9-2330-331-14&P."""
    assert said(found(look("water"))) == [("left", "repack", False), ("right", "repack", True)]
    assert said(found(look("water"), look("serviceable"))) == [("left", "repack", False), ("right", "repack", True)]


def test_a_hand_on_the_hub_does_not_clear_it() -> None:
    """If not, two minutes at the road would stand for the cap taken off."""
    assert said(found(look("serviceable", act="look"))) == [("left", "repack", True), ("right", "repack", True)]


def test_a_finding_outweighs_the_line_that_was_worked_out() -> None:
    """If not, a hub found hot would stay shut because the water was counted to end a finger below it."""
    assert said(found(depth_m=0.30)) == []
    assert said(found(look("water"), depth_m=0.30)) == [("left", "repack", False)]


def test_what_a_look_by_the_high_line_decides_is_told() -> None:
    """If not, a hand would be laid on the hub and nobody knew what a hot one means."""
    both = found(rules=(HAND, REPACK), depth_m=0.30)
    assert said(both) == [
        ("left", "look", False), ("right", "look", False), ("left", "repack", True), ("right", "repack", True),
    ]  # fmt: skip


def test_after_it_was_done_it_is_over() -> None:
    """If not, a hub packed on Tuesday would be told again on Wednesday."""
    done = row(NEXT, None, "hub", "repack", position="both")
    assert found(look("water"), done) == ()


def test_a_look_is_done_whatever_it_found() -> None:
    """If not, a hub found wet would be looked at again and again beside the repack."""
    assert said(found(look("water"), rules=(LOOK,))) == [("right", "measure", False)]


def test_without_a_look_in_its_time_it_is_asked_for() -> None:
    """If not, a hub nobody looked at would go into the remote leg as if the look had been clean."""
    rules, late = (LOOK, REPACK), date(2026, 7, 3)
    told = [("left", "repack", True), ("right", "repack", True)]

    def packs(*rows: HistoryRow, today: date | None) -> list[tuple[str | None, str, bool]]:
        return said(tuple(call for call in found(*rows, rules=rules, today=today) if call.rule is REPACK))

    assert packs(today=None) == packs(today=NEXT) == told  # 24 hours from the 1st: the 2nd is still in time
    assert packs(today=late) == [("left", "repack", False), ("right", "repack", False)]
    assert all(call.missed for call in found(rules=rules, today=late) if call.rule is REPACK)
    assert packs(look("serviceable"), today=late) == [("right", "repack", False)]
    assert packs(look("serviceable"), look("serviceable", "right"), today=late) == []
    written = row(NEXT, None, "play", "measure", position="both")  # made, and nothing said of what was found
    assert packs(written, today=late) == told
    # a hand on the hub at the halt is no look that decides it
    assert found(rules=(HAND, REPACK), today=late, depth_m=0.45)[-1].contingent
    # work that another job decides, as a joint's grease does, waits for that job
    joint = water_rule("hub", "before remote", "renew", within_days=5, told_from=2, decided_by="play grease")
    assert all(call.contingent for call in found(rules=(LOOK, joint), today=late) if call.rule is joint)


def test_a_second_look_only_after_a_doubtful_first() -> None:
    """If not, every clean hub would be asked for once more 500 km on."""
    assert found(rules=(AGAIN,)) == () and found(look("serviceable"), rules=(AGAIN,)) == ()
    assert said(found(look("contaminated"), rules=(AGAIN,))) == [("left", "look", False)]


def test_the_owner_may_have_hubs_repacked_each_time() -> None:
    """If not, the other of two published positions could not be chosen. TM 9-2330-358-14&P para 2-27."""
    assert said(found(hubs="repack")) == [("left", "repack", False), ("right", "repack", False)]
    assert said(found(hubs="look")) == said(found())


def test_the_worst_hub_is_the_sample() -> None:
    """If not, the left hub would be opened whichever ran hot."""

    def side(*rows: HistoryRow) -> str | None:
        (call,) = found(*rows, rules=(SAMPLE,), depth_m=0.6)
        return call.position

    before = date(2026, 5, 1)
    assert side() == "left"
    assert side(look("worn", "right", "look")) == "right"
    assert side(look("failed", "right", "look", "seal", before)) == "right"
    assert len(found(rules=(SAMPLE,), depth_m=0.6, hubs_hot=True)) == 2


def test_a_seal_that_leaked_before_makes_it_hard_until_it_is_renewed() -> None:
    """If not, a weeping seal would go through the water as a sound one."""
    leaked = look("failed", "left", "look", "seal", date(2026, 5, 1))
    renewed = row(date(2026, 5, 9), None, "seal", "renew", position="left")
    assert [call.grade for call in found(leaked)] == [3, 3]
    assert [call.grade for call in found(leaked, renewed)] == [2, 2]
    assert [call.grade for call in found(look("worn", "left", "measure", "play", date(2026, 5, 1)))] == [2, 2]


def test_nothing_is_called_on_a_trailer_left_behind() -> None:
    """If not, a camper in town would be part of the ford."""
    known = tables(
        thing("hub", unit_kind="trailer", points="hub_centre"), water_rules=(water_rule("hub", "days", "look"),)
    )
    line = build_timeline(trip(leg(1, 300, MADE), crossings=(crossing(1, 100, 0.9),)), 8)
    pairs = [(camper(heights_mm={"hub_centre": 350}), known.item("hub"), None)]
    assert calls(pairs, line, known, read_history((), known), WAVE) == ()
