"""What a plan is held against: the parsed `plan.json`, the folder's records, and the tables.

The checker shares no step with the planner: it takes the plan's own figures and redoes the
arithmetic with lines of its own, so that a mistake in placing cannot hide behind itself.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from msgspec import Struct

from tripplan.records.catalogue import Catalogue, Item, Teardown, WaterRule
from tripplan.records.facts_in import FACILITY_RANK, HistoryRow, Rig, Trip, Unit
from tripplan.records.lookups import ODOMETER_REPLACED, READING, SERVICE, item_index, without_duplicates
from tripplan.records.plan import FOUND_BAD
from tripplan.records.shelf import ShelfRow
from tripplan.records.words import JobKind, SlotKind

Json = Mapping[str, Any]
Key = tuple[str, str, str | None]
Act = tuple[str, str, str | None, str]
"""Something done: unit, item, position and act."""
EVERYWHERE = (None, "both", "all")
TO_GIVE_KM, SMALL = 0.01, 1e-5
WORKSHOP, STOP, AFTER = SlotKind
AFTER_WATER, RECHECK, WALK_ROUND = JobKind.AFTER_WATER, JobKind.RECHECK, JobKind.WALK_ROUND
SIDES = ("left", "right")
HUB_OFF, WHEEL_OFF = "hub off", "wheel off"
NUTS = {"vehicle": "wheel_nuts", "trailer": "trailer_wheel_nuts"}


class Broken(Struct, frozen=True):
    """One rule that a plan breaks: its name, where in the plan, and what is wrong there."""

    rule: str
    where: str
    says: str


class Facts(Struct, frozen=True, dict=True):
    """The plan and what it was made from, with the look-ups that every rule needs."""

    plan: Json
    rig: Rig
    history: Sequence[HistoryRow]
    trip: Trip
    catalogue: Catalogue
    shelf: Sequence[ShelfRow] = ()

    @cached_property
    def today(self) -> date:
        """The day the plan is seen from."""
        return day(self.plan["today"])

    @cached_property
    def road_minutes(self) -> dict[str, float]:
        """What the owner gives of the road, as trip.toml says or else the table: a day, a day on average, one longer spell."""
        names = ("road_day_limit_minutes", "road_daily_minutes", "road_long_spell_minutes")
        said = {name: getattr(self.trip, name) for name in names}
        return {name: self.catalogue.assumed(name).value if own is None else own for name, own in said.items()}

    @property
    def start(self) -> date:
        """Departure, or today once the trip has begun."""
        return max(self.trip.depart, self.today)

    @cached_property
    def slots(self) -> list[Json]:
        """The slots as listed, which is in time order."""
        return list(self.plan["slots"])

    @cached_property
    def spot(self) -> dict[str, int]:
        """The place of each slot in that order, by id."""
        return {slot["id"]: index for index, slot in enumerate(self.slots)}

    @cached_property
    def items(self) -> dict[Key, Json]:
        """Plan items by item, unit and position."""
        return {key_of(entry): entry for entry in self.plan["items"]}

    def other_side(self, entry: Json) -> Json | None:
        """The entry of the other side of the axle, if any."""
        side = SIDES[entry["position"] == SIDES[0]] if entry["position"] in SIDES else None
        return self.items.get((entry["item"], entry["unit"], side)) if side else None

    @cached_property
    def catalogued(self) -> dict[str, Item]:
        """Catalogue items by id."""
        return {item.id: item for item in self.catalogue.items}

    @cached_property
    def doing(self) -> dict[str, set[str]]:
        """For each item the ids of those whose act does it on the way, itself among them."""
        return covering(self.catalogue)

    @cached_property
    def units(self) -> dict[str, Unit]:
        """The rig's units by id."""
        return {unit.id: unit for unit in self.rig.units}

    @cached_property
    def legs(self) -> dict[int, Json]:
        """The plan's legs by number."""
        return {leg["number"]: leg for leg in self.plan["legs"]}

    @cached_property
    def said_minutes(self) -> dict[str, float]:
        """Minutes that a follow-up gives the look it asks for, by the item looked at."""
        asked = [look for item in self.catalogue.items for look in item.follow_ups]
        return {look.item: look.minutes for look in asked if look.minutes is not None}

    @cached_property
    def work_by_day(self) -> dict[date, set[Act]]:
        """What is on record by day, up to today; a service sheet does the acts of its items, a row for both sides each."""
        index = item_index(self.catalogue)
        found: dict[date, set[Act]] = {}
        for row in without_duplicates(self.history):
            for item in _items(self, row, index):
                sides = item.positions if item.positions and row.position in EVERYWHERE else (row.position,)
                act = item.act if row.act == SERVICE else row.act
                if item.rhythm == WALK_ROUND and act == item.act:
                    continue
                found.setdefault(row.date, set()).update((row.unit, item.id, side, act) for side in sides)
        return found

    @cached_property
    def home_days(self) -> list[int]:
        """Spots of the slots before departure."""
        return [index for index, slot in enumerate(self.slots) if slot["kind"] == WORKSHOP]

    def places_of(self, entry: Json) -> set[int]:
        """Where an item is done; all workshop days count as one place."""
        return {max(self.spot[slot], len(self.home_days) - 1) for slot in entry["placed"]}

    @cached_property
    def teardown(self) -> dict[tuple[str, str], Teardown]:
        """Teardown rows by place and state."""
        return {(row.place, row.state): row for row in self.catalogue.teardown}

    def opening_minutes(self, place: str, state: str) -> float:
        """Minutes of all opening and closing down to that state of a place, by the tables."""
        return sum(row.open_minutes + row.close_minutes for row in self.states_to(place, state))

    def states_to(self, place: str, state: str | None) -> Iterator[Teardown]:
        """Every state to be open for one at a place, the innermost first; the underbody has what a place shares."""
        while state and (found := self.teardown.get((place, state)) or self.teardown.get(("underbody", state))):
            yield found
            state = found.parent

    @cached_property
    def _resets(self) -> set[tuple[str, str]]:
        return {(rule.item, rule.act) for rule in self.catalogue.water_rules if rule.resets}

    def renews(self, job: Json) -> bool:
        """True for a job after which the item's interval starts anew: no look again, and after water not every act."""
        return job["kind"] != RECHECK and (job["kind"] != AFTER_WATER or (job["item"], job["act"]) in self._resets)

    def puts_right(self, job: Json, entry: Json) -> bool:
        """True for a job that renews this entry's item; where a fault is known there, after water only by an act that is as much."""
        if entry["found"] is None or job["kind"] != AFTER_WATER:
            return self.renews(job)
        return self.renews(job) and job["act"] in as_much(self.catalogue, entry["act"])

    def rules_of(self, entry: Json) -> list[WaterRule]:
        """The rules for that act at that item after water."""
        return [rule for rule in self.catalogue.water_rules if (rule.item, rule.act) == (entry["item"], entry["act"])]

    def jobs(self) -> Iterator[tuple[int, Json]]:
        """Every job with the spot of its slot."""
        for index, slot in enumerate(self.slots):
            for job in slot["jobs"]:
                yield index, job

    def is_warned(self, entry: Json) -> bool:
        """True when a warning names this item, unit and side; what was found there excuses nothing."""
        thing = {name: entry[name] for name in ("item", "unit", "position")}
        return any(thing in told["about"] for told in self.plan["warnings"] if told["kind"] != FOUND_BAD)

    def is_on_the_road(self, slot: Json) -> bool:
        """True at a stop, unless the legs come home there before they go on."""
        if slot["kind"] != STOP:
            return False
        legs = sorted(self.trip.legs, key=lambda leg: leg.leg)
        return not any(leg.leg == slot["after_leg"] and leg.to == legs[0].from_ for leg in legs[:-1])

    def chances(self) -> int:
        """How many of the first slots come before the rig goes on: workshop days, or the stop it stands at."""
        stands_there = self.slots[0]["kind"] == STOP and day(self.slots[0]["date"]) <= self.today
        return len(self.home_days) or int(stands_there)

    def may_stay_open(self, index: int) -> bool:
        """True between two workshop days in a row at home, with no shakedown drive between them."""
        if index + 1 not in self.home_days or index not in self.home_days:
            return False
        shakedown_next = self.trip.shakedown_km > 0 and index + 1 == self.home_days[-1]
        gap = day(self.slots[index + 1]["date"]) - day(self.slots[index]["date"])
        return gap == timedelta(days=1) and not shakedown_next


def _items(facts: Facts, row: HistoryRow, index: Mapping[str, Item]) -> Iterator[Item]:
    """The item of a row of work, or those of the service sheet it names, with what that includes."""
    if not row.item or row.act in (READING, ODOMETER_REPLACED) or row.date > facts.today or row.unit not in facts.units:
        return
    name = row.item.strip().casefold()
    sheets = {sheet.id: sheet for sheet in facts.catalogue.services}
    names, queue = set[str](), [name] if name in sheets else []
    while queue:
        sheet = sheets[queue.pop()]
        names |= {*sheet.items}
        queue += sheet.includes
    for one in sorted(names) or [name]:
        if (item := index.get(one)) is not None:
            yield item


def day(text: str) -> date:
    """A date of plan.json, or the day of a date and time."""
    return datetime.fromisoformat(text).date()


def key_of(entry: Json) -> Key:
    """Item, unit and position of a plan item, a job, a recheck or a water act."""
    return (entry["item"], entry["unit"], entry["position"])


def named(entry: Json) -> str:
    """An item position as a person writes it."""
    side = f" {entry['position']}" if entry["position"] else ""
    return f"{entry['item']}{side} ({entry['unit']})"


def rank(facility: str) -> int:
    """Camp 1, town 2, workshop 3."""
    return FACILITY_RANK[facility]


def as_much(catalogue: Catalogue, act: str) -> set[str]:
    """The act, and the greater ones that do it on the way."""
    return {act, *(greater for rule in catalogue.acts if rule.act == act for greater in rule.done_by)}


def covering(catalogue: Catalogue) -> dict[str, set[str]]:
    """For each item the ids of those whose act does it on the way, itself among them."""
    does: dict[str, set[str]] = {item.id: {item.id, *item.covers} for item in catalogue.items}
    grew = True
    while grew:
        grew = False
        for done in does.values():
            more = set().union(*(does.get(name, {name}) for name in done)) - done
            done |= more
            grew = grew or bool(more)
    return {item.id: {other for other, done in does.items() if item.id in done} for item in catalogue.items}
