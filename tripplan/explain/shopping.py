"""What to buy and what to carry: the materials of the placed jobs added up, and spares.

Bought before: materials of workshop jobs, with the day to order them by. Bought at the stop:
what any town sells. Carried: the rest of what jobs at stops need, and spares for items far
through their life on a trip with remote legs.
"""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from msgspec import Struct, field

from tripplan.due.runs_out import share_used
from tripplan.due.standing import Standing
from tripplan.explain.shelf import BEFORE, ShelfRow, less_shelf
from tripplan.placing.problem import AFTER, STOP, WORKSHOP, PlacementProblem, Placing, Site, Task
from tripplan.records.catalogue import Catalogue, Consumable, Item
from tripplan.records.grouped import grouped
from tripplan.records.plan import Need, OrderPart, Use
from tripplan.records.words import WITH_SHOPS
from tripplan.water.crossing import Call

CARRY, AT_STOP, LATER = "carry", "at the stop", "after return"
SPARE_KINDS = ("seal", "part", "filter", "grease")
SOLD_ANYWHERE = ("oil", "fluid", "cleaner", "sundry")
SERIOUS_SHARE = 0.5  # of the time to help: from here on a spare is worth its weight
FILLINGS = ("oil", "fluid")
LISTS = (BEFORE, AT_STOP, CARRY, LATER)
KIND_ORDER = ("part", "seal", "filter", "grease", "oil", "fluid", "cleaner", "sundry")


class _Sum(Struct):
    quantity: float = 0.0
    uses: dict[Use, None] = field(default_factory=dict)
    dates: list[date] = field(default_factory=list)
    lead_days: float = 0.0


def consumption(item: Item) -> tuple[tuple[str, float], ...]:
    """Consumable ids and quantities of one act at one position."""
    return tuple((amount.what, amount.quantity) for amount in item.consumables)


def find_needs(
    problem: PlacementProblem, placing: Placing, standings: Sequence[Standing], catalogue: Catalogue,
    remote: bool, shelf: Sequence[ShelfRow] = (), contingent: Sequence[Call] = (),
) -> tuple[tuple[Need, ...], tuple[Need, ...]]:  # fmt: skip
    """Shopping list and carry list, each thing once a list, with the jobs it is for, less the shelf.

    What a look after water may call for is carried where the trip is remote, for one position of each item.
    """
    sums: dict[tuple[str, str], _Sum] = {}
    rows = catalogue.stock
    usuals = {x.thing: x.usual for x in standings}
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        if task.window is None or task.resets:
            usual = usuals.get(task.thing) or task.item
            for count, site in enumerate(visits):
                own = usual if count and task.window is None else task.item
                _add(sums, problem.sites[site], own, _use(task, own), rows)
    if remote:
        threshold = catalogue.assumed("carry_share_threshold").value
        for standing in standings:
            if _worth_carrying(standing, problem, threshold):
                _add_spare(sums, standing, rows)
        _add_contingent(sums, contingent, rows)
    loading = max((site.date for site in problem.sites if site.kind == WORKSHOP), default=None)
    needs = [
        _need(rows[name], when, sums[when, name], loading)
        for when, name in sorted(sums, key=lambda key: _as_bought(key, rows))
    ]
    shopping = tuple(need for need in needs if need.when != CARRY)
    carry = tuple(need for need in needs if need.when == CARRY)
    return less_shelf(shopping, carry, shelf, catalogue.consumables)


def _use(task: Task, item: Item) -> Use:
    act = item.act if task.window is None else task.act
    return Use(act=act, name=item.said, unit=task.unit.id, position=task.position)


def _when(site: Site, kind: str) -> str:
    """Where a thing comes from: bought before, carried, or what any town sells bought at the stop."""
    if site.kind == STOP:
        return AT_STOP if site.facility in WITH_SHOPS and kind in SOLD_ANYWHERE else CARRY
    return BEFORE if site.kind == WORKSHOP else LATER


def _add(sums: dict[tuple[str, str], _Sum], site: Site, item: Item, use: Use, rows: Mapping[str, Consumable]) -> None:
    for name, quantity in consumption(item):
        total = sums.setdefault((_when(site, rows[name].kind), name), _Sum())
        total.quantity += quantity
        total.uses.setdefault(use)
        total.lead_days = max(total.lead_days, item.parts_lead_days)
        total.dates.append(site.date)


def _worth_carrying(standing: Standing, problem: PlacementProblem, threshold: float) -> bool:
    """Far through its life on return, and its failure would harm somebody or cost much of the time to help."""
    is_serious = standing.item.harms or standing.item.strands >= SERIOUS_SHARE
    if not is_serious or standing.overdue:
        return False
    share = share_used(standing.course, True, problem.sites[-1].date)
    return share is not None and share >= threshold


def _add_spare(sums: dict[tuple[str, str], _Sum], standing: Standing, rows: Mapping[str, Consumable]) -> None:
    spare = Use(act=None, name=standing.item.said, unit=standing.unit.id, position=standing.position)
    for name, quantity in consumption(standing.item):
        if rows[name].kind in SPARE_KINDS:
            total = sums.setdefault((CARRY, name), _Sum())
            total.quantity = max(total.quantity, quantity)
            total.lead_days = max(total.lead_days, standing.item.parts_lead_days)
            total.uses.setdefault(spare)


def _add_contingent(sums: dict[tuple[str, str], _Sum], calls: Sequence[Call], rows: Mapping[str, Consumable]) -> None:
    """One set an item, since not every hub is found wet; of oils and fluids what the largest filling takes."""
    wanted = grouped((name, (call, quantity)) for call in calls for name, quantity in call.uses.items())
    for name, asked in wanted.items():
        by_item = grouped((call.item.said, quantity) for call, quantity in asked)
        each = [max(quantities) for quantities in by_item.values()]
        total = sums.setdefault((CARRY, name), _Sum())
        total.quantity += max(each) if rows[name].kind in FILLINGS else sum(each)
        total.lead_days = max(total.lead_days, *(call.item.parts_lead_days for call in calls))
        for call, _ in asked:
            total.uses.setdefault(Use(act=f"if found: {call.rule.act}", name=call.item.said, unit=call.unit.id))


def _as_bought(key: tuple[str, str], rows: Mapping[str, Consumable]) -> tuple[int, int, str]:
    """By when, then parts, seals and filters, greases and fluids, then the rest; by name in each."""
    when, name = key
    return LISTS.index(when), KIND_ORDER.index(rows[name].kind), rows[name].name


def _need(row: Consumable, when: str, total: _Sum, loading: date | None) -> Need:
    """One line of a list. What is carried must be in the car on the last day of work before departure."""
    needed_by = loading if when == CARRY else min(total.dates, default=None)
    is_bought = needed_by is not None and when in (BEFORE, CARRY)
    ahead = timedelta(days=max(total.lead_days, 1))  # nothing ordered on the morning of the work is there for it
    order_by = needed_by - ahead if needed_by and is_bought and row.is_ordered else None
    buy_by = needed_by - timedelta(days=1) if needed_by and is_bought and not row.is_ordered and row.pack else None
    return Need(
        what=row.id, name=row.name, kind=row.kind, quantity=round(total.quantity, 3),
        unit_of_measure=row.unit_of_measure, uses=tuple(total.uses), when=when,
        needed_by=needed_by, order_by=order_by, buy_by=buy_by, basis=row.basis,
    )  # fmt: skip


def order_days(problem: PlacementProblem, placing: Placing, catalogue: Catalogue, today: date) -> tuple[OrderPart, ...]:
    """For each site with jobs that need ordered parts, the last day to order them."""
    names = {row.id: row.name for row in catalogue.consumables if row.is_ordered}
    lead: dict[int, tuple[float, dict[str, None]]] = {}
    for task, visits in zip(problem.tasks, placing.visits, strict=True):
        ordered = [names[name] for name, _ in consumption(task.item) if name in names]
        if task.window is None and task.item.parts_lead_days > 0 and ordered:
            for site in visits:
                days, what = lead.get(site, (0.0, {}))
                what |= dict.fromkeys(ordered)
                lead[site] = (max(days, task.item.parts_lead_days), what)
    return tuple(
        OrderPart(
            slot=problem.sites[site].id,
            order_by=max(today, _order_by(problem.sites[site], days, problem)),
            what=tuple(what),
        )
        for site, (days, what) in sorted(lead.items())
    )


def _order_by(site: Site, lead_days: float, problem: PlacementProblem) -> date:
    """Parts for a stop must be in the car at departure, so they count from the last workshop day."""
    day = site.date
    if site.kind not in (WORKSHOP, AFTER):
        day = min([s.date for s in problem.sites if s.kind == WORKSHOP][-1:], default=site.date)
    return day - timedelta(days=lead_days)
