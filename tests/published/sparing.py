"""Two figures that published worked cases of sparing print, told by the program's own chance of a demand."""

from tripplan.risk.poisson import more_than


def unmet(count: int, mean: float) -> float:
    """Demands expected that so many parts do not meet: B(0) = m; B(s + 1) = B(s) - P(X > s)."""
    return mean - sum(float(more_than(carried, mean)) for carried in range(count))


def enough(assurance: float, mean: float) -> int:
    """The least number of parts that suffices with a stated chance."""
    return next(count for count in range(1000) if 1.0 - float(more_than(count, mean)) >= assurance - 1e-12)
