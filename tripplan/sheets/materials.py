"""Materials of jobs as words for a bench: added up, short for one job, and what each must be."""

from collections.abc import Iterable

from tripplan.records.plan_work import Job, Material
from tripplan.sheets import words


def to_lay_out(jobs: Iterable[Job]) -> tuple[str, ...]:
    """All materials of these jobs added up, without their grades, in the order of first use."""
    sums: dict[tuple[str, str], float] = {}
    for one in (one for job in jobs for one in job.materials):
        sums[one.name, one.measure] = sums.get((one.name, one.measure), 0.0) + one.quantity
    return tuple(f"{name} {amount(total, measure)}" for (name, measure), total in sums.items())


def grades(jobs: Iterable[Job]) -> tuple[tuple[str, str], ...]:
    """What every material of these jobs must be, each once, as name and grade."""
    return tuple(sorted({(one.name, one.grade) for job in jobs for one in job.materials if one.grade}))


def short(one: Material) -> str:
    """One job's material without its grade, which the sheet tells once."""
    return f"{one.name} {amount(one.quantity, one.measure)}"


def full(one: Material) -> str:
    """One job's material with its grade: chassis grease 30 g (DIN 51825 K 2)."""
    grade = f" ({one.grade})" if one.grade else ""
    return f"{one.name} {one.quantity:g} {one.measure}{grade}"


def amount(quantity: float, measure: str) -> str:
    """A quantity with its measure: 80 g, 1 piece, 2 pieces."""
    plural = "s" if measure in ("piece", "set") and quantity != 1 else ""
    return f"{words.figure(quantity)} {measure}{plural}"
