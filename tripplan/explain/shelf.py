"""What is on the owner's shelf, taken off the shopping list, whole containers to buy, and their prices.

What the shelf holds goes first to the work before departure, then into the carried box,
then to the work after return; what is left in a container bought for one list goes to the next in that
order. A tin is bought whole: the count is rounded up. Its size is that of
`shelf.csv`, else as commonly sold; a price is the owner's, or there is none.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from tripplan.explain.orders import CARRY, Ask, Line
from tripplan.records.catalogue import Consumable
from tripplan.records.lubricants import GreaseGun, OwnLubricant
from tripplan.records.plan import Need
from tripplan.records.plan_work import Slot
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem
from tripplan.records.shelf import Batch, ShelfRow, batches, meant, take, unit_factor

NOTHING = 1e-9
BEFORE = "before departure"


class Kit(Struct, frozen=True, kw_only=True):
    """What the owner has at hand: named lubricants, the gun as weighed, and the shelf."""

    lubricants: tuple[OwnLubricant, ...] = ()
    gun: GreaseGun | None = None
    shelf: tuple[ShelfRow, ...] = ()


NO_KIT = Kit()


class Stock(Struct):
    """One thing on the shelf or ordered in the unit of its consumable, its smallest container, and the price of that.

    `opened` is what is left in the containers bought for lists before.
    """

    quantity: float = 0.0
    container_size: float | None = None
    price: float | None = None
    opened: float = 0.0


def stocks(shelf: Sequence[ShelfRow], consumables: Sequence[Consumable]) -> dict[str, Stock]:
    """The shelf by consumable id. A row that fits no consumable or unit counts as nothing."""
    found: dict[str, Stock] = {}
    for row in shelf:
        known = meant(row.what, consumables)
        factor = unit_factor(row.unit_of_measure, known.unit_of_measure) if known else None
        if known is None or factor is None:
            continue
        stock = found.setdefault(known.id, Stock())
        stock.quantity += row.quantity * factor
        size = None if row.container_size is None else row.container_size * factor
        is_smaller = size is not None and size < (stock.container_size or math.inf)
        if is_smaller:
            stock.container_size = size
        if row.price is not None and (is_smaller or stock.price is None):
            stock.price = row.price
    return found


def less_shelf(
    shopping: Sequence[Need], carry: Sequence[Need], shelf: Sequence[ShelfRow],
    consumables: Sequence[Consumable], asks: Sequence[Ask],
) -> tuple[tuple[Need, ...], tuple[Need, ...]]:  # fmt: skip
    """Both lists with the shelf taken off, as far as it is there when a use asks for it.

    On the shopping list `quantity` is what is left to buy, and a thing wholly on the shelf
    is left out. On the carry list `quantity` stays what to carry. `on_shelf` is what the
    shelf gives to that line, `containers` how many to buy.
    """
    held, sold = stocks(shelf, consumables), {one.id: one for one in consumables}
    given = _given(asks, batches(shelf, consumables))

    def less(need: Need) -> Need:
        return _less(need, given.get((need.when, need.what), 0.0), held, sold)

    before = {need.what: less(need) for need in shopping if need.when == BEFORE}
    carried = tuple(map(less, carry))
    bought = [before[need.what] if need.when == BEFORE else less(need) for need in shopping]
    return tuple(need for need in bought if need.quantity > NOTHING), carried


def _given(asks: Iterable[Ask], there: Mapping[str, list[Batch]]) -> dict[Line, float]:
    """What the shelf gives to each line: first to the uses that were planned with it, then list by list and day by day."""
    found: dict[Line, float] = {}
    for ask in sorted(asks, key=_turn):
        taken, _ = take(there.get(ask.what, []), ask.quantity, None if ask.is_held else ask.needed_by)
        found[ask.when, ask.what] = found.get((ask.when, ask.what), 0.0) + taken
    return found


def _turn(ask: Ask) -> tuple[bool, int, date]:
    lists = (BEFORE, CARRY)
    return not ask.is_held, lists.index(ask.when) if ask.when in lists else len(lists), ask.needed_by or date.max


def _less(need: Need, given: float, held: dict[str, Stock], sold: Mapping[str, Consumable]) -> Need:
    stock, taken = held.setdefault(need.what, Stock()), min(need.quantity, given)
    rest = min(need.quantity - taken, stock.opened)
    stock.opened -= rest
    left = need.quantity - taken - rest
    known = sold.get(need.what)
    size = stock.container_size or (known.container_size if known else None)
    containers = math.ceil(left / size - NOTHING) if size else None
    stock.opened += (containers or 0) * (size or 0.0) - left if size else 0.0
    quantity = need.quantity if need.when == CARRY else round(left, 3)
    cost = None if stock.price is None else round(stock.price * (left if containers is None else containers), 2)
    return replace(
        need, quantity=quantity, on_shelf=round(taken, 3), from_opened=round(rest, 3), containers=containers, container_size=size,
        pack=(known.pack if known else "") or "container", price=stock.price, cost=cost,
    )  # fmt: skip


def priced(slots: Sequence[Slot], shelf: Sequence[ShelfRow], consumables: Sequence[Consumable]) -> tuple[Slot, ...]:
    """The slots with what their materials cost, each its share of a container; as they are where no price is given."""
    sizes, held = {one.id: one.container_size for one in consumables}, stocks(shelf, consumables)
    prices = {
        what: stock.price / (stock.container_size or sizes.get(what) or 1.0)
        for what, stock in held.items()
        if stock.price is not None
    }
    return tuple(_priced(slot, prices) for slot in slots) if prices else tuple(slots)


def _priced(slot: Slot, prices: Mapping[str, float]) -> Slot:
    used = [one for job in slot.jobs for one in job.materials]
    cost = sum(one.quantity * prices[one.what] for one in used if one.what in prices)
    return replace(slot, materials_cost=round(cost, 2), unpriced=len({one.what for one in used} - set(prices)))


def shelf_problems(shelf: Sequence[ShelfRow], consumables: Sequence[Consumable]) -> Iterator[Problem]:
    """Shelf rows that name nothing known, or measure it in another unit; they count as nothing."""
    for row in shelf:
        known = meant(row.what, consumables)
        if known is None:
            accepted = nearest(row.what, [one.id for one in consumables], 6)
            yield problem("G10", row.origin, "what", row.what, accepted)
        elif unit_factor(row.unit_of_measure, known.unit_of_measure) is None:
            accepted = f"{known.unit_of_measure}, as {known.id} is measured"
            yield problem("G11", row.origin, "unit_of_measure", row.unit_of_measure, accepted)
