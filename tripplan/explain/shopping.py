"""What to buy and what to carry: the materials of the placed jobs added up, and spares.

Bought before: materials of workshop jobs, with the day to order them by. At the stop: what any
town sells, and parts sent there that come too late to go along. Carried: the rest of what jobs at stops need, and spares for items far
through their life on a trip with remote legs.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from msgspec import Struct, field

from tripplan.due.runs_out import share_used
from tripplan.due.standing import Standing
from tripplan.explain.orders import CARRY, LATER, Ask, Line, with_order_days
from tripplan.explain.shelf import BEFORE, less_shelf
from tripplan.placing.problem import (
    STOP,
    WORKSHOP,
    PlacementProblem,
    Placing,
    Site,
    Task,
    loading_day,
    takes_parcels,
)
from tripplan.records.catalogue import Catalogue, Consumable, Item
from tripplan.records.grouped import grouped
from tripplan.records.plan import Need, OrderPart, Use
from tripplan.records.shelf import ShelfRow
from tripplan.records.words import WITH_SHOPS
from tripplan.water.crossing import Call

AT_STOP = "at the stop"
SPARE_KINDS = ("seal", "part", "filter", "grease")
SOLD_ANYWHERE = ("oil", "fluid", "cleaner", "sundry")
SERIOUS_SHARE = 0.5  # of the time to help: from here on a spare is worth its weight
FILLINGS = ("oil", "fluid")
LISTS = (BEFORE, AT_STOP, CARRY, LATER)
KIND_ORDER = ("part", "seal", "filter", "grease", "oil", "fluid", "cleaner", "sundry")


class _Sum(Struct):
    quantity: float = 0.0
    uses: dict[Use, None] = field(default_factory=dict)
    asks: list[Ask] = field(default_factory=list)


def consumption(item: Item) -> tuple[tuple[str, float], ...]:
    """Consumable ids and quantities of one act at one position."""
    return tuple((amount.what, amount.quantity) for amount in item.consumables)


def find_needs(
    problem: PlacementProblem, placing: Placing, standings: Sequence[Standing], catalogue: Catalogue,
    remote: bool, today: date, shelf: Sequence[ShelfRow] = (), contingent: Sequence[Call] = (),
) -> tuple[tuple[Need, ...], tuple[Need, ...], tuple[OrderPart, ...]]:  # fmt: skip
    """Shopping list and carry list, each thing once a list, with the jobs it is for, less the shelf; and the orders.

    What a look after water may call for is carried where the trip is remote, for one position of each item.
    """
    sums: dict[Line, _Sum] = {}
    rows, loading = catalogue.stock, _loading(problem, today)
    by_thing = {x.thing: x for x in standings}
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        if task.window is None or task.resets:
            standing = by_thing.get(task.thing)
            usual = (standing and standing.usual) or task.item
            for count, site in enumerate(visits):
                own = usual if count and task.window is None else task.item
                is_held = standing is not None and standing.is_held and not count and task.window is None
                aboard = loading, _met_at(problem, site, own, today)
                _add(sums, problem.sites[site], aboard, (own, is_held), _use(task, own), rows)
    if remote:
        threshold = catalogue.assumed("carry_share_threshold").value
        for standing in standings:
            if _worth_carrying(standing, problem, threshold):
                _add_spare(sums, loading, standing, rows)
        _add_contingent(sums, loading, contingent, rows)
    needs = [
        _need(rows[name], when, sums[when, name]) for when, name in sorted(sums, key=lambda key: _as_bought(key, rows))
    ]
    shopping = tuple(need for need in needs if need.when != CARRY)
    carry = tuple(need for need in needs if need.when == CARRY)
    asks = [ask for total in sums.values() for ask in total.asks]
    shopping, carry = less_shelf(shopping, carry, shelf, catalogue.consumables, asks)
    return with_order_days(shopping, carry, asks, rows, today)


class _Day(Struct, frozen=True):
    """When something has to be there, and for which slot; `send_to` is the place where parts are sent to meet the rig."""

    date: date | None
    slot: str
    send_to: str = ""


def _loading(problem: PlacementProblem, today: date) -> _Day:
    """The last day of work before departure, on which all that is carried must be in the car, else departure itself.

    None once the trip has begun: then parts are to be had before driving on.
    """
    last = next((site for site in reversed(problem.sites) if site.kind == WORKSHOP), None)
    has_begun = last is None and today >= problem.depart
    return _Day(None if has_begun else loading_day(problem.sites, problem.depart), last.id if last else "")


def _use(task: Task, item: Item) -> Use:
    act = item.act if task.window is None else task.act
    return Use(act=act, name=item.said, unit=task.unit.id, position=task.position)


def _when(site: Site, kind: str) -> str:
    """Where a thing comes from: bought before, carried, or what any town sells bought at the stop."""
    if site.kind == STOP:
        return AT_STOP if site.facility in WITH_SHOPS and kind in SOLD_ANYWHERE else CARRY
    return BEFORE if site.kind == WORKSHOP else LATER


def _add(
    sums: dict[Line, _Sum], site: Site, aboard: tuple[_Day, _Day | None], act: tuple[Item, bool], use: Use,
    rows: Mapping[str, Consumable],
) -> None:  # fmt: skip
    """What one visit uses up; `act` is what is done and whether the shelf holds the parts of it.

    `aboard` is the day on which the car is loaded, and where ordered parts meet the rig that come later than that.
    """
    (item, is_held), (loading, met) = act, aboard
    for name, quantity in consumption(item):
        is_sent = met is not None and rows[name].is_ordered and not is_held
        when = AT_STOP if is_sent else _when(site, rows[name].kind)
        total = sums.setdefault((when, name), _Sum())
        total.quantity += quantity
        total.uses.setdefault(use)
        day = met if met is not None and is_sent else loading if when == CARRY else _Day(site.date, site.id)
        total.asks.append(_ask((when, name), quantity, day, item.parts_lead_days, is_held))


def _met_at(problem: PlacementProblem, index: int, item: Item, today: date) -> _Day | None:
    """Where parts ordered today meet the rig for work at this site; None where they go along from home, or it is at home."""
    sites, ready = problem.sites, today + timedelta(days=item.parts_lead_days)
    if sites[index].kind != STOP or item.parts_lead_days <= 0 or ready <= loading_day(sites, problem.depart):
        return None
    able = [site for site in sites[: index + 1] if site.kind == STOP and takes_parcels(site) and site.date >= ready]
    return _Day(able[-1].date, able[-1].id, able[-1].place) if able else None


def _ask(line: Line, quantity: float, day: _Day, lead_days: float, is_held: bool = False) -> Ask:
    return Ask(*line, quantity, day.date, lead_days, day.slot, is_held, day.send_to)


def _worth_carrying(standing: Standing, problem: PlacementProblem, threshold: float) -> bool:
    """Far through its life on return, and its failure would harm somebody or cost much of the time to help."""
    is_serious = standing.item.harms or standing.item.strands >= SERIOUS_SHARE
    if not is_serious or standing.overdue:
        return False
    share = share_used(standing.course, True, problem.sites[-1].date)
    return share is not None and share >= threshold


def _add_spare(sums: dict[Line, _Sum], loading: _Day, standing: Standing, rows: Mapping[str, Consumable]) -> None:
    spare = Use(act=None, name=standing.item.said, unit=standing.unit.id, position=standing.position)
    for name, quantity in consumption(standing.item):
        if rows[name].kind in SPARE_KINDS:
            total = sums.setdefault((CARRY, name), _Sum())
            more = max(0.0, quantity - total.quantity)
            total.quantity += more
            total.uses.setdefault(spare)
            total.asks.append(_ask((CARRY, name), more, loading, standing.item.parts_lead_days))


def _add_contingent(
    sums: dict[Line, _Sum], loading: _Day, calls: Sequence[Call], rows: Mapping[str, Consumable]
) -> None:
    """One set an item, since not every hub is found wet; of oils and fluids what the largest filling takes."""
    wanted = grouped((name, (call, quantity)) for call in calls for name, quantity in call.uses.items())
    for name, asked in wanted.items():
        by_item = grouped((call.item.said, quantity) for call, quantity in asked)
        each = [max(quantities) for quantities in by_item.values()]
        total, more = sums.setdefault((CARRY, name), _Sum()), max(each) if rows[name].kind in FILLINGS else sum(each)
        total.quantity += more
        longest = max(call.item.parts_lead_days for call, _ in asked)
        total.asks.append(_ask((CARRY, name), more, loading, longest))
        for call, _ in asked:
            total.uses.setdefault(Use(act=f"if found: {call.rule.act}", name=call.item.said, unit=call.unit.id))


def _as_bought(key: tuple[str, str], rows: Mapping[str, Consumable]) -> tuple[int, int, str]:
    """By when, then parts, seals and filters, greases and fluids, then the rest; by name in each."""
    when, name = key
    return LISTS.index(when), KIND_ORDER.index(rows[name].kind), rows[name].name


def _need(row: Consumable, when: str, total: _Sum) -> Need:
    """One line of a list. What is carried must be in the car on the last day of work before departure."""
    needed_by = min((ask.needed_by for ask in total.asks if ask.needed_by is not None), default=None)
    send_to = next((ask.send_to for ask in total.asks if ask.needed_by == needed_by), "")
    in_a_shop = needed_by is not None and when in (BEFORE, CARRY) and not row.is_ordered and row.pack
    return Need(
        what=row.id, name=row.name, kind=row.kind, quantity=round(total.quantity, 3),
        unit_of_measure=row.unit_of_measure, uses=tuple(total.uses), when=when, needed_by=needed_by,
        buy_by=needed_by - timedelta(days=1) if needed_by and in_a_shop else None, basis=row.basis,
        send_to=send_to,
    )  # fmt: skip
