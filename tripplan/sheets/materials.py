"""Materials of jobs as words for a bench: added up, short for one job, and what each must be."""

import re
from collections.abc import Iterable

from tripplan.records.plan import Job
from tripplan.sheets import words

WRITTEN = re.compile(r"(?P<name>.+?) (?P<quantity>\d+(?:\.\d+)?) (?P<measure>[^\s()]+)(?: \((?P<grade>.+)\))?")


def to_lay_out(jobs: Iterable[Job]) -> tuple[str, ...]:
    """All materials of these jobs added up, without their grades, in the order of first use.

    A material written in another way than name, quantity, measure and grade is kept as it stands.
    """
    sums: dict[tuple[str, str], float] = {}
    for text in (text for job in jobs for text in job.consumables):
        found = WRITTEN.fullmatch(text)
        key = (found["name"], found["measure"]) if found else (text, "")
        sums[key] = sums.get(key, 0.0) + (float(found["quantity"]) if found else 1.0)
    return tuple(_words(name, measure, total) for (name, measure), total in sums.items())


def _words(name: str, measure: str, total: float) -> str:
    if not measure:
        return name if total == 1 else f"{name}, {total:g} times"
    return f"{name} {amount(total, measure)}"


def grades(jobs: Iterable[Job]) -> tuple[tuple[str, str], ...]:
    """What every material of these jobs must be, each once, as name and grade."""
    found = (WRITTEN.fullmatch(text) for job in jobs for text in job.consumables)
    told = {(match["name"], match["grade"]) for match in found if match and match["grade"]}
    return tuple(sorted(told))


def short(text: str) -> str:
    """One job's material without its grade, which the sheet tells once."""
    found = WRITTEN.fullmatch(text)
    return f"{found['name']} {amount(float(found['quantity']), found['measure'])}" if found else text


def amount(quantity: float, measure: str) -> str:
    """A quantity with its measure: 80 g, 1 piece, 2 pieces."""
    plural = "s" if measure in ("piece", "set") and quantity != 1 else ""
    return f"{words.figure(quantity)} {measure}{plural}"
