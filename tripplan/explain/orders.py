"""By when parts have to be ordered: one day a thing, which every list, the calendar and the yard go by.

Each use counts from its own day with its own days to come; a thing is ordered once, by the first of them. What is for
work before departure or goes along comes in one order, what is for after the return in another.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.catalogue import Consumable
from tripplan.records.grouped import grouped
from tripplan.records.plan import Need, OrderPart, Use

CARRY, LATER = "carry", "after return"
Line = tuple[str, str]
"""A list and a thing on it."""


class Ask(Struct, frozen=True):
    """One use of a thing: on which list, how much, the day it has to be there and its slot, and the days it takes to come.

    `is_held` says that its job was planned with what the shelf holds or has on order, `send_to` where it is to be sent.
    """

    when: str
    what: str
    quantity: float
    needed_by: date | None
    lead_days: float
    slot: str
    is_held: bool = False
    send_to: str = ""

    @property
    def order_by(self) -> date | None:
        """The last day to order it; None where no day presses. Nothing ordered on the morning of the work is there for it."""
        if self.needed_by is None or (self.when == LATER and self.lead_days <= 0):
            return None
        return self.needed_by - timedelta(days=max(self.lead_days, 1))


class Part(Struct, frozen=True, kw_only=True):
    """Something that a plan has to order: how much of it in all, what for, and by when at the latest."""

    what: str
    quantity: float
    unit_of_measure: str
    order_by: date
    uses: tuple[Use, ...]


def to_order(needs: Iterable[Need]) -> list[Part]:
    """What is neither there nor on its way of what has to be ordered, each thing once, the most pressing first."""
    still_open = grouped((need.what, need) for need in needs if need.order_by is not None and left_of(need) > 0)
    found = (
        Part(
            what=same[0].name, quantity=sum(map(left_of, same)), unit_of_measure=same[0].unit_of_measure,
            order_by=min(need.order_by for need in same if need.order_by is not None),
            uses=tuple(dict.fromkeys(use for need in same for use in need.uses)),
        )
        for same in still_open.values()
    )  # fmt: skip
    return sorted(found, key=lambda part: (part.order_by, part.what))


def with_order_days(
    shopping: Sequence[Need], carry: Sequence[Need], asks: Iterable[Ask], rows: Mapping[str, Consumable], today: date
) -> tuple[tuple[Need, ...], tuple[Need, ...], tuple[OrderPart, ...]]:
    """Both lists with the day by which each ordered thing is to be ordered, and the orders by slot and day."""
    lines = {
        (need.when, need.what): need for need in (*shopping, *carry) if rows[need.what].is_ordered and left_of(need) > 0
    }
    dated = [ask for ask in asks if (ask.when, ask.what) in lines and ask.order_by and not ask.is_held]
    days = {
        order: max(today, min(ask.order_by for ask in same if ask.order_by is not None))
        for order, same in grouped((_order(ask.when, ask.what), ask) for ask in dated).items()
    }

    def told(need: Need) -> Need:
        is_open = (need.when, need.what) in lines
        return replace(need, order_by=days.get(_order(need.when, need.what))) if is_open else need

    found = grouped(((ask.slot, days[_order(ask.when, ask.what)], ask.when), ask) for ask in dated)
    orders = tuple(
        OrderPart(
            slot=slot, order_by=day, what=tuple(dict.fromkeys(rows[ask.what].name for ask in same)), when=when,
            lead_days=max(ask.lead_days for ask in same),
        )
        for (slot, day, when), same in sorted(found.items(), key=lambda pair: (pair[0][1], pair[1][0].needed_by, pair[0]))
    )  # fmt: skip
    return tuple(map(told, shopping)), tuple(map(told, carry)), orders


def _order(when: str, what: str) -> tuple[bool, str]:
    return when == LATER, what


def left_of(need: Need) -> float:
    """How much of it is still to be had: on the shopping list the shelf is taken off already."""
    return need.quantity - (need.on_shelf + need.from_opened if need.when == CARRY else 0.0)
