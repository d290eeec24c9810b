"""Materials of jobs as words for a bench: added up, short for one job, and what each must be."""

from collections.abc import Iterable

from tripplan.records.plan_work import Job, Material
from tripplan.sheets import words

SMEAR_G, DROPS_ML = 8.0, 6.0
COUNTED = ("piece", "pieces", "set", "filling")


def to_lay_out(jobs: Iterable[Job]) -> tuple[str, ...]:
    """All materials of these jobs added up, without their grades, in the order of first use."""
    sums: dict[tuple[str, str], float] = {}
    for one in (one for job in jobs for one in job.materials):
        sums[one.name, one.measure] = sums.get((one.name, one.measure), 0.0) + one.quantity
    return tuple(told(total, measure, name) for (name, measure), total in sums.items())


def grades(jobs: Iterable[Job]) -> tuple[tuple[str, str], ...]:
    """What every material of these jobs must be, each once, as name and grade."""
    return tuple(sorted({(one.name, one.grade) for job in jobs for one in job.materials if one.grade}))


def used(one: Material) -> str:
    """What one job takes, as a person with the tube in hand says it: about 95 g of wheel bearing grease; 2 hub seals."""
    return told(one.quantity, one.measure, one.name)


def told(quantity: float, measure: str, name: str) -> str:
    """So much of a thing in words."""
    return words.several(quantity, name) if measure in COUNTED else f"{used_amount(quantity, measure)} of {name}"


def used_amount(quantity: float, measure: str) -> str:
    """A quantity without false nicety: grams to the nearest five, a smear below that; drops, litres."""
    if measure == "g":
        return "a smear" if quantity < SMEAR_G else f"about {5 * round(quantity / 5)} g"
    if measure == "mL":
        return "a few drops" if quantity < DROPS_ML else f"about {words.figure(quantity)} mL"
    return f"{words.figure(quantity)} {measure}"


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
