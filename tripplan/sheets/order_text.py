"""What `tripplan order` prints: what was written into `shelf.csv`, and what is still to be ordered, by the day for it."""

from collections.abc import Sequence
from datetime import date

from tripplan.explain.orders import Part
from tripplan.records.grouped import grouped
from tripplan.records.plain_words import day_and_year
from tripplan.sheets.materials import amount
from tripplan.sheets.text_lines import wrap
from tripplan.sheets.words import use_text

MOST_JOBS = 2


def order_text(ordered: Sequence[Part], arrives: date | None, left: Sequence[Part]) -> str:
    """All of it; `arrives` is the day on which what is ordered comes."""
    told = []
    if ordered and arrives is not None:
        names = "; ".join(map(_amount, ordered))
        told += wrap(
            f"Written to shelf.csv, to arrive on {day_and_year(arrives)}: {names}. The next plan counts on it."
        )
    for day, parts in grouped((part.order_by, part) for part in left).items():
        told.append(f"To order by {day_and_year(day)}:")
        for part in parts:
            told += wrap(f"{_amount(part)}: {_jobs(part)}", "  ", "    ")
    return "\n".join(told or ["Nothing is to be ordered."])


def _amount(part: Part) -> str:
    return f"{part.what}, {amount(part.quantity, part.unit_of_measure)}"


def _jobs(part: Part) -> str:
    """The first of its jobs, and how many more there are."""
    more = [f"and {len(part.uses) - MOST_JOBS} more"] if len(part.uses) > MOST_JOBS else []
    return "; ".join([*map(use_text, part.uses[:MOST_JOBS]), *more])
