"""Rules about waiting: limits kept where somebody can be hurt, the rest told; nothing twice in a short time."""

from collections.abc import Iterator
from itertools import pairwise

from tripplan.records.plan import NO_RECORD
from tripplan.verify.facts import WALK_ROUND, Broken, Facts, Json, key_of, named
from tripplan.verify.shares import RENEWING, Shares, is_overhaul, shares_of
from tripplan.verify.trade import is_with_the_hub

SERVICE = "service"
SHARE_TO_GIVE = 0.01


def limit_rules(facts: Facts) -> Iterator[Broken]:
    """Every rule about how far gone an item is when something is done, or left."""
    for entry in facts.plan["items"]:
        if facts.catalogued[entry["item"]].rhythm != WALK_ROUND:
            shares = shares_of(facts, entry)
            yield from _limit(facts, entry, shares)
            yield from _told(facts, entry, shares)
            yield from _twice(facts, entry, shares)
            yield from _look_first(facts, entry)


def is_limited(entry: Json) -> bool:
    """True for an act that renews what can hurt somebody: its interval is a limit, all else is priced."""
    return bool(entry["harms"] and entry["act"] in RENEWING)


def _spans(facts: Facts, entry: Json) -> Iterator[tuple[int | None, int]]:
    """From today or a renewal to the next renewal, and home."""
    spots = sorted({facts.spot[slot] for slot in entry["placed"]})
    for start, end in pairwise([None, *spots, len(facts.slots) - 1]):
        if end is not None and start != end:
            yield start, end


def _limit(facts: Facts, entry: Json, shares: Shares) -> Iterator[Broken]:
    """The published 10 % over the interval, on typical wear; before the rig goes on any day will do."""
    limit = 1.0 + facts.catalogue.assumed("tolerance_share").value
    over = [(start, end, shares.between(start, end)) for start, end in _spans(facts, entry) if end >= facts.chances()]
    past = [span for span in over if span[2] > limit + shares.doubt]
    may_be_past = [span for span in over if span[2] > limit - shares.doubt]
    if is_limited(entry) and past and not entry["unmet"]:
        start, end, share = past[0]
        since = "today" if start is None else facts.slots[start]["id"]
        says = f"{share:.2f} of its interval used from {since} to {facts.slots[end]['id']}"
        yield Broken("inside the limit", named(entry), says)
    if entry["unmet"] and not (is_limited(entry) and may_be_past):
        yield Broken("unmet", named(entry), "said to be past a limit, which it is not")
    if entry["unmet"] and not facts.is_warned(entry):
        yield Broken("unmet is said", named(entry), "past its limit, and no warning says so")


def _told(facts: Facts, entry: Json, shares: Shares) -> Iterator[Broken]:
    """The largest share it reaches, and whether it waits for home past its interval."""
    highest = max((shares.between(start, end) for start, end in _spans(facts, entry)), default=0.0)
    told = entry["highest_share"]
    if told is None or abs(told - highest) > SHARE_TO_GIVE * max(1.0, highest) + shares.doubt:
        yield Broken("highest share", named(entry), f"said {told}, worked out {highest:.3f}")
    home = len(facts.slots) - 1
    before = [facts.spot[slot] for slot in entry["placed"] if facts.spot[slot] != home]
    left = shares.between(max(before) if before else None, home)
    waits = left > 1.0 and not is_overhaul(facts, entry)
    in_doubt = abs(left - 1.0) <= SHARE_TO_GIVE + shares.doubt
    if entry["can_wait"] != waits and not in_doubt:
        says = f"{left:.2f} of its interval used when home, and it is said {'' if entry['can_wait'] else 'not '}to wait"
        yield Broken("can wait", named(entry), says)


def _twice(facts: Facts, entry: Json, shares: Shares) -> Iterator[Broken]:
    """No act for its own sake again within a short time, but where a limit would be passed without it, or for the side beside it."""
    item = facts.catalogued[entry["item"]]
    if is_with_the_hub(item) or (entry["verdict"] == NO_RECORD and is_overhaul(facts, entry)):
        return
    least = facts.catalogue.assumed("short_time_share").value
    own = {index for index, job in facts.jobs() if job["kind"] == SERVICE and key_of(job) == key_of(entry)}
    spots = sorted({facts.spot[slot] for slot in entry["placed"]})
    limit = 1.0 + facts.catalogue.assumed("tolerance_share").value - SHARE_TO_GIVE - shares.doubt
    for start, end, then in zip([None, *spots], spots, [*spots[1:], len(facts.slots) - 1], strict=False):
        if is_limited(entry) and shares.between(start, then) > limit:
            continue
        if _is_for_the_other_side(facts, entry, end, least):
            continue
        if end in own and shares.between(start, end) < least - SHARE_TO_GIVE - shares.doubt:
            since = f"was done at {facts.slots[start]['id']}" if start is not None else "stands today"
            says = f"done at {facts.slots[end]['id']} {shares.between(start, end):.2f} of its interval after it {since}"
            yield Broken("not twice", named(entry), says)


def _is_for_the_other_side(facts: Facts, entry: Json, end: int, least: float) -> bool:
    """True where the other side is done at that place as well, and not within a short time: an axle is worked on as a pair."""
    other = facts.other_side(entry)
    spots = [] if other is None else sorted({facts.spot[slot] for slot in other["placed"]})
    if other is None or end not in spots:
        return False
    since = max((spot for spot in spots if spot < end), default=None)
    return shares_of(facts, other).between(since, end) >= least - SHARE_TO_GIVE


def _look_first(facts: Facts, entry: Json) -> Iterator[Broken]:
    """An overhaul nobody has a record of is no job of its own where a look that its item names can tell, on neither side."""
    item = facts.catalogued[entry["item"]]
    sides = [facts.items.get((item.id, entry["unit"], side), entry) for side in item.positions or (None,)]
    limit = 1.0 + facts.catalogue.assumed("tolerance_share").value
    may_be_past = is_limited(entry) and (entry["highest_share"] or 0.0) > limit - SHARE_TO_GIVE
    if may_be_past or is_with_the_hub(item) or not all(is_overhaul(facts, side) for side in sides):
        return
    for index, job in facts.jobs():
        if job["kind"] == SERVICE and key_of(job) == key_of(entry):
            yield Broken(
                "look first",
                named(entry),
                f"at {facts.slots[index]['id']}, with no record and no look that asks for it",
            )
