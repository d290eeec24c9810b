"""Which spares and materials to carry: the most standing hours saved under a weight and a volume.

A part is asked for as often as the items it mends stop the rig, both sides and several items together:
Poisson, given the doubts that items share. The kth of it saves what the kth demand would stand, less
the hours of fitting it in a camp. What a shop on the way sells counts anew behind it. Materials for work
that a look after water decides are worth what leaving the water in would cost, times the chance that it
got in.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import ceil

import numpy as np

from tripplan.due.standing import Situation
from tripplan.placing.problem import HAIR, STOP
from tripplan.records.catalogue import Consumable
from tripplan.records.facts_in import FACILITY_RANK
from tripplan.records.grouped import grouped
from tripplan.records.mending import Spare
from tripplan.records.plain_words import doing, lower_first, so_much
from tripplan.records.plan_kit import CarryKit, KitLeftOut, KitLine, KitStep, LeftOutWhy, SparePart
from tripplan.records.units import MINUTES_PER_HOUR
from tripplan.records.words import WITH_SHOPS
from tripplan.risk.packing import pack
from tripplan.risk.poisson import more_than
from tripplan.risk.reckoned import Reckoned
from tripplan.water.crossing import Call
from tripplan.wear.mechanisms.uncertain import Array

LEAST_WORTH_HOURS = 1e-3
"""A piece that saves less than four seconds of standing is not weighed."""
MOST_OF_ONE = 9
MICRO, MILLI = 1_000_000, 1000
CAMP = FACILITY_RANK["camp"]


def spare_parts(r: Reckoned, called: Sequence[Call], s: Situation) -> tuple[SparePart, ...]:
    """Everything that could be carried on this trip as planned, with what each more of it saves."""
    return (*_spares(r, s), *_contingent(r, called, s))


def carry_kit(
    parts: Sequence[SparePart], standing_hours: float, most_kg: float, most_litres: float,
    shelf: Mapping[str, float] | None = None,
) -> CarryKit:  # fmt: skip
    """The kit within both limits; `shelf` is what the owner has, by consumable."""
    pieces = [(spot, k) for spot, one in enumerate(parts) if _can_go(one) for k in range(len(one.saved_hours))]
    worth = [round(MICRO * parts[spot].saved_hours[k]) for spot, k in pieces]
    weight = [ceil(MILLI * (parts[spot].weight_kg or 0.0) - HAIR) for spot, _ in pieces]
    volume = [ceil(MILLI * (parts[spot].volume_l or 0.0) - HAIR) for spot, _ in pieces]
    found = pack(worth, weight, volume, (int(MILLI * most_kg + HAIR), int(MILLI * most_litres + HAIR)))
    counts = [0] * len(parts)
    for piece in found.taken:
        counts[pieces[piece][0]] += 1
    taken = [(one, count) for one, count in zip(parts, counts, strict=True) if count]
    return CarryKit(
        most_kg=most_kg, most_litres=most_litres,
        weight_kg=sum(count * (one.weight_kg or 0.0) for one, count in taken),
        volume_l=sum(count * (one.volume_l or 0.0) for one, count in taken),
        standing_hours_expected=standing_hours, saved_hours=sum(sum(one.saved_hours[:count]) for one, count in taken),
        is_exact=found.is_exact, lines=tuple(_line(one, count, shelf or {}) for one, count in _in_order(taken)),
        steps=_steps(taken), left_out=_left_out(parts, counts, most_kg, most_litres),
    )  # fmt: skip


def _can_go(one: SparePart) -> bool:
    return one.in_camp and one.weight_kg is not None and one.volume_l is not None


def _in_order(taken: Sequence[tuple[SparePart, int]]) -> list[tuple[SparePart, int]]:
    return sorted(taken, key=lambda pair: (pair[0].contingent, -sum(pair[0].saved_hours[: pair[1]]), pair[0].name))


def _line(one: SparePart, count: int, shelf: Mapping[str, float]) -> KitLine:
    held = min(shelf.get(one.part, 0.0), one.quantity * count)
    return KitLine(
        part=one.part, name=one.name, count=count, quantity=one.quantity, unit_of_measure=one.unit_of_measure,
        beside=one.beside, weight_kg=count * (one.weight_kg or 0.0), volume_l=count * (one.volume_l or 0.0),
        demand_expected=one.demand_expected, saved_hours=sum(one.saved_hours[:count]), for_items=one.for_items,
        on_shelf=held, to_get=one.quantity * count - held, sold_at=one.sold_at, contingent=one.contingent,
        fitting_hours=one.fitting_hours, origins=one.origins,
    )  # fmt: skip


def _steps(taken: Sequence[tuple[SparePart, int]]) -> tuple[KitStep, ...]:
    """The pieces of the kit, those first that save most for their weight."""
    pieces = [(one, k) for one, count in taken for k in range(count)]
    pieces.sort(key=lambda pair: (-pair[0].saved_hours[pair[1]] / (pair[0].weight_kg or 1.0), pair[0].name, pair[1]))
    steps, weight = [], 0.0
    for one, k in pieces:
        own = one.weight_kg or 0.0
        weight += own
        steps.append(KitStep(
            part=one.part, name=one.name, number=k + 1, saved_hours=one.saved_hours[k],
            saved_hours_per_kg=one.saved_hours[k] / own if own else 0.0, weight_kg=own, all_weight_kg=weight,
        ))  # fmt: skip
    return tuple(steps)


def _left_out(
    parts: Sequence[SparePart], counts: Sequence[int], most_kg: float, most_litres: float
) -> tuple[KitLeftOut, ...]:
    """What would save something more and is not taken, the most first."""
    found = (
        KitLeftOut(
            part=one.part, name=one.name, why=_why(one, most_kg, most_litres), demand_expected=one.demand_expected,
            saved_hours=one.saved_hours[count], weight_kg=one.weight_kg, volume_l=one.volume_l,
        )
        for one, count in zip(parts, counts, strict=True) if count < len(one.saved_hours)
    )  # fmt: skip
    return tuple(sorted(found, key=lambda one: (-one.saved_hours, one.name)))


def _why(one: SparePart, most_kg: float, most_litres: float) -> LeftOutWhy:
    if not one.in_camp:
        return LeftOutWhy.NO_CAMP
    if one.weight_kg is None or one.volume_l is None:
        return LeftOutWhy.NO_WEIGHT
    is_too_much = one.weight_kg > most_kg + HAIR or one.volume_l > most_litres + HAIR
    return LeftOutWhy.TOO_MUCH if is_too_much else LeftOutWhy.WORTH_LESS


def _spares(r: Reckoned, s: Situation) -> Iterator[SparePart]:
    """Every part that mends an item of this rig, all its items together."""
    stops = r.failures(r.plan) * r.worn.law.strands[:, None, None]
    rows = grouped((standing.item.id, row) for row, standing in enumerate(r.worn.courses.standings))
    sold = s.catalogue.stock
    by_part = grouped((spare.part, spare) for spare in s.catalogue.spares if spare.item in rows and spare.part in sold)
    for part, spares in sorted(by_part.items()):
        demands = [spare.mends_share * stops[rows[spare.item]].sum(axis=0) for spare in spares]
        yield _spare_part(r, s, sold, part, spares, demands)


def _spare_part(
    r: Reckoned, s: Situation, sold: Mapping[str, Consumable], part: str, spares: Sequence[Spare],
    demands: Sequence[Array],
) -> SparePart:  # fmt: skip
    camp = s.catalogue.assumed("place_factor_camp").value
    hours = [spare.minutes * camp / MINUTES_PER_HOUR for spare in spares]
    saved = [
        demand * np.maximum(r.worn.standing_hours - own, 0.0)[:, None]
        for demand, own in zip(demands, hours, strict=True)
    ]
    row = sold[part]
    shops = () if row.is_ordered else _shops(r)
    beside = tuple(dict.fromkeys(amount for spare in spares for amount in spare.beside))
    quantity = max(spare.quantity for spare in spares)
    weights = _taken(((part, quantity), *((one.what, one.quantity) for one in beside)), sold)
    names = {standing.item.id: standing.item.said for standing in r.worn.courses.standings}
    return SparePart(
        part=part, name=row.name, quantity=quantity, unit_of_measure=row.unit_of_measure,
        beside=tuple(_words(one.what, one.quantity, sold) for one in beside), weight_kg=weights[0], volume_l=weights[1],
        demand_expected=float(sum(demands).sum(axis=0) @ r.weights),  # type: ignore[union-attr]
        saved_hours=_marginal(sum(demands), sum(saved), r.weights, _segments(r, shops)),  # type: ignore[arg-type]
        for_items=tuple(dict.fromkeys(names[spare.item] for spare in spares)), fitting_hours=max(hours),
        in_camp=all(FACILITY_RANK[spare.facility] <= CAMP for spare in spares),
        sold_at=tuple(r.work.problem.sites[site].place for site in shops),
        origins=(row.origin, *(spare.origin for spare in spares)),
    )  # fmt: skip


def _words(what: str, quantity: float, sold: Mapping[str, Consumable]) -> str:
    return so_much(quantity, sold[what].unit_of_measure, sold[what].name)


def _taken(parts: Sequence[tuple[str, float]], sold: Mapping[str, Consumable]) -> tuple[float | None, float | None]:
    """Weight and volume of these amounts together; None where a row does not tell."""
    weights = [(sold[what].weight_kg, sold[what].volume_l, quantity) for what, quantity in parts]
    if any(weight is None or volume is None for weight, volume, _ in weights):
        return None, None
    return sum((w or 0.0) * q for w, _, q in weights), sum((v or 0.0) * q for _, v, q in weights)


def _shops(r: Reckoned) -> tuple[int, ...]:
    """Stops on the way with a shop, by site."""
    sites = r.work.problem.sites
    return tuple(i for i, site in enumerate(sites) if site.kind == STOP and site.facility in WITH_SHOPS)


def _segments(r: Reckoned, shops: Sequence[int]) -> list[slice]:
    """The legs between places where it can be bought again."""
    cuts = sorted({r.work.problem.sites[site].legs_done for site in shops} | {0, r.work.knots.legs})
    return [slice(low, high) for low, high in pairwise(cuts)]


def _marginal(demand: Array, saved: Array, weights: Array, segments: Sequence[slice]) -> tuple[float, ...]:
    """What each more of a part saves: hours of a demand times the chance that so many are asked for."""
    found: list[float] = []
    means = [(demand[own].sum(axis=0), saved[own].sum(axis=0)) for own in segments]
    while len(found) < MOST_OF_ONE:
        worth = sum(
            float(weights @ (hours / np.maximum(mean, 1e-300) * more_than(len(found), mean))) for mean, hours in means
        )
        if worth < LEAST_WORTH_HOURS:
            break
        found.append(worth)
    return tuple(found)


def _contingent(r: Reckoned, called: Sequence[Call], s: Situation) -> Iterator[SparePart]:
    """Materials of the work that looks after water decide: one set an item, since not every hub is found wet."""
    sold = s.catalogue.stock
    rows = {standing.thing: row for row, standing in enumerate(r.worn.courses.standings)}
    seen: set[tuple[str, str]] = set()
    for call in called:
        row = rows.get((call.item.id, call.unit.id, call.position or ""))
        parts = tuple(call.uses.items())
        if not call.contingent or row is None or not parts or (call.item.id, call.rule.act) in seen:
            continue
        seen.add((call.item.id, call.rule.act))
        weight, volume = _taken(parts, sold)
        hours = _left_in(r, row, call.after_km)
        yield SparePart(
            part=f"{call.item.id} {call.rule.act}", name=f"if found wet, {lower_first(doing(call.rule.act, call.item.said))}",
            quantity=1, unit_of_measure="set", beside=tuple(_words(*one, sold) for one in parts),
            weight_kg=weight, volume_l=volume, demand_expected=s.catalogue.assumed("water_entered_share").value,
            saved_hours=(hours,) if hours >= LEAST_WORTH_HOURS else (), for_items=(call.item.said,),
            fitting_hours=call.rule.minutes * s.catalogue.assumed("place_factor_camp").value / MINUTES_PER_HOUR,
            in_camp=_has_place(r, call), contingent=True, origins=(call.rule.origin,),
        )  # fmt: skip


def _left_in(r: Reckoned, row: int, from_km: float) -> float:
    """Standing hours expected where water that may have got in is left in to the end of the trip."""
    km = np.array(r.work.ends_km)
    driven = np.diff(np.clip(km, from_km, km[-1])) / max(km[-1] - from_km, HAIR)
    law = r.worn.law
    return float(law.wet[row] * law.strands[row] * (driven @ r.worn.standing_hours))


def _has_place(r: Reckoned, call: Call) -> bool:
    """True where a camp will do, or a stop behind the crossing offers what the work needs."""
    needed = FACILITY_RANK[call.rule.facility]
    behind = (site for site in r.work.problem.sites if site.kind == STOP and site.trip_km >= call.after_km)
    return needed <= CAMP or any(site.rank >= needed for site in behind)
