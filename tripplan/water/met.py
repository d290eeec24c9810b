"""Looks that need no visit of their own, because a greater act is asked for at the same place anyway."""

from collections.abc import Callable, Sequence

from tripplan.records.words import LOOKS
from tripplan.water.crossing import Call
from tripplan.wear.last_done import History


def without_met_looks(
    found: Sequence[Call], history: History, has_place: Callable[[Call], bool]
) -> tuple[Call, ...]:  # fmt: skip
    """The calls without looks that open what a greater act opens, for water met no earlier and in the look's time.

    Whoever packs a hub within days has looked into it. The look stays where the greater act is left to a
    look itself, or finds no place in its own window. A look that opens less is quicker and tells sooner: it stays.
    """
    greater: dict[tuple[str, str, str], list[Call]] = {}
    for call in found:
        if not call.contingent and call.rule.act not in LOOKS:
            greater.setdefault(_opened(call), []).append(call)
    return tuple(
        call
        for call in found
        if call.contingent or call.rule.act not in LOOKS
        or not any(_meets(one, call, history) and has_place(one) for one in greater.get(_opened(call), ()))
    )  # fmt: skip


def _opened(call: Call) -> tuple[str, str, str]:
    return (call.unit.id, call.item.id, call.rule.state)


def _meets(greater: Call, look: Call, history: History) -> bool:
    opens = look.rule.state not in ("", "closed") and greater.position in (None, look.position)
    in_time = greater.after_km >= look.after_km and (look.by_date is None or greater.after_date <= look.by_date)
    return opens and in_time and history.does(greater.rule.act, look.rule.act)
