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
    outright = [call for call in found if not call.contingent]
    greater = [call for call in outright if call.rule.act not in LOOKS and has_place(call)]
    return tuple(
        call
        for call in found
        if call.contingent or call.rule.act not in LOOKS or not any(_meets(one, call, history) for one in greater)
    )


def _meets(greater: Call, look: Call, history: History) -> bool:
    same = (greater.unit.id, greater.item.id, greater.rule.state) == (look.unit.id, look.item.id, look.rule.state)
    opens = look.rule.state not in ("", "closed") and greater.position in (None, look.position)
    in_time = greater.after_km >= look.after_km and (look.by_date is None or greater.after_date <= look.by_date)
    return same and opens and in_time and history.does(greater.rule.act, look.rule.act)
