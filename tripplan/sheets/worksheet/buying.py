"""What to buy and carry as a person in a shop reads it: packs and pieces, by when, and what they cost."""

import math
from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from tripplan.explain.orders import left_of
from tripplan.records.catalogue import ORDERED_KINDS
from tripplan.records.grouped import grouped
from tripplan.records.plan import Need, Plan
from tripplan.sheets import words
from tripplan.sheets.materials import COUNTED, told, used_amount

BEFORE = ("before", "before departure")
ROUND_FIGURES = ("sundry",)
CARRY, AT_STOP, WORN_PART = "carry", "at the stop", "worn_part"


class Errand(Struct, frozen=True, kw_only=True):
    """Things to get by the same day: ordered by their number, or from any shop."""

    title: str
    things: tuple[str, ...]


def errands(plan: Plan) -> tuple[Errand, ...]:
    """Everything to get before departure, for the work and for the box: orders by their day, then one walk round the shop."""
    before = (*(need for need in plan.shopping if need.when in BEFORE), *plan.carry)
    wanted = grouped((need.what, need) for need in before if left_of(need) > 0)
    orders: dict[date | None, list[str]] = {}
    shop: list[str] = []
    for needs in wanted.values():
        days = [need.order_by for need in needs if need.order_by is not None]
        is_ordered = bool(days) or needs[0].kind in ORDERED_KINDS
        (orders.setdefault(min(days, default=None), []) if is_ordered else shop).append(to_buy(needs))
    first = min((need.buy_by for needs in wanted.values() for need in needs if need.buy_by is not None), default=None)
    dated = [
        Errand(title=f"Order {_by(day, plan.today)}", things=tuple(orders[day])) for day in sorted(filter(None, orders))
    ]
    on_the_way = [need for need in plan.shopping if need.when == AT_STOP]
    sent = grouped(
        ((need.order_by, need.send_to), to_buy([need])) for need in on_the_way if need.send_to and need.order_by
    )
    there = tuple(to_buy([need]) for need in on_the_way if need.container_size and not need.send_to)
    loose = (
        ("Parts, before driving on", tuple(orders.get(None, ()))),
        ("From a shop" + (f" {_by(first, plan.today)}" if first else ""), tuple(shop)),
        ("From a shop where the work is done", there),
    )  # fmt: skip
    dated += [
        Errand(title=f"Order {_by(day, plan.today)}, to be sent to {place}", things=tuple(sent[day, place]))
        for day, place in sorted(sent)
    ]
    return (*dated, *(Errand(title=title, things=things) for title, things in loose if things))


def _by(day: date, today: date) -> str:
    return "today" if day <= today else f"by {words.week_day(day)}"


def to_buy(needs: Sequence[Need]) -> str:
    """One thing of one or two lists in packs or pieces: 1 cartridge of wheel bearing grease, 400 g; 4 hub inner seals."""
    first = needs[0]
    if first.what == WORN_PART:
        return _worn(needs)
    if first.containers is not None and first.container_size is not None:
        count = sum(need.containers or 0 for need in needs)
        if first.container_size == 1:
            return f"{count} {first.unit_of_measure} of {first.name}"
        return f"{words.several(count, first.pack)} of {first.name}, {_size(first)}"
    return _loose(sum(map(left_of, needs)), first)


def need_name(need: Need) -> str:
    """What a thing is called in a list of its own."""
    return _worn([need]) if need.what == WORN_PART else need.name


def _worn(needs: Sequence[Need]) -> str:
    names = dict.fromkeys(words.lower_first(use.name) for need in needs for use in need.uses)
    return f"new parts for {words.listed(names)}, found bad"


def _size(need: Need) -> str:
    return f"{words.figure(need.container_size or 0.0)} {need.unit_of_measure}"


def _loose(quantity: float, need: Need) -> str:
    if need.unit_of_measure in COUNTED:
        about = "about " if need.kind in ROUND_FIGURES else ""
        return about + told(math.ceil(quantity), need.unit_of_measure, need.name)
    return told(quantity, need.unit_of_measure, need.name)


def carry_words(need: Need) -> str:
    """What goes into the car: 2 hub inner seals; 1 cartridge of chassis grease."""
    if need.container_size is not None:
        return f"{words.several(math.ceil(need.quantity / need.container_size), need.pack)} of {need.name}"
    return _loose(need.quantity, need)


def need_amount(need: Need) -> str:
    """How much, in packs where they are known, what of it is used, and what is there already."""
    shelf = f", {words.figure(need.on_shelf)} {need.unit_of_measure} of it on the shelf" if need.on_shelf else ""
    if need.containers is None or need.container_size is None:
        unit = "" if need.unit_of_measure in COUNTED else f" {need.unit_of_measure}"
        return f"{words.figure(need.quantity)}{unit}{shelf}"
    used = used_amount(need.quantity, need.unit_of_measure)
    if not need.containers:
        return f"{used}, from {'the shelf' if need.on_shelf else f'the {need.pack} bought for the work'}"
    return f"{words.several(need.containers, need.pack)}, {_size(need)}; {used} {'may' if need.when == CARRY else 'will'} be used{shelf}"


def after_return(plan: Plan) -> tuple[Need, ...]:
    """What is bought for the work after the return."""
    return tuple(need for need in plan.shopping if "return" in need.when)


def costs(plan: Plan) -> str:
    """What the materials cost, a day and in all, in one sentence; empty where the owner gives no price."""
    days = [(slot, slot.materials_cost) for slot in plan.slots if slot.materials_cost]
    bought = [need for need in (*plan.shopping, *plan.carry) if need.cost is not None]
    if not days and not bought:
        return ""
    used = "; ".join(f"{words.short_day(slot.date)} {money(cost, plan)}" for slot, cost in days)
    total = money(sum(need.cost or 0.0 for need in bought), plan)
    without = len({need.what for need in (*plan.shopping, *plan.carry) if need.cost is None})
    open_end = f" {words.upper_first(words.count(without, 'thing has', 'things have'))} no price." if without else ""
    each = f"Materials used: {used}. " if used else ""
    return f"{each}To buy in all, in whole packs: {total}.{open_end}"


def money(amount: float, plan: Plan) -> str:
    """A sum with the trip's currency: 84 AUD."""
    return f"{amount:.0f}{f' {plan.currency}' if plan.currency else ''}"
