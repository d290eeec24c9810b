"""The Poisson functions: what their docstrings say, and their limits."""

import re
from math import exp

import numpy as np
import pytest

from tests.published.printed import agrees
from tripplan.records.problems import OutOfRange
from tripplan.risk import poisson
from tripplan.risk.poisson import more_than

WORKED = re.compile(r"^    Worked     (.+) -> (\S+)$", re.M)


def test_worked_example() -> None:
    """The example a reader checks by hand would be wrong."""
    worked = WORKED.search(more_than.__doc__ or "")
    assert worked is not None
    assert agrees(worked[2], float(eval(worked[1], vars(poisson))))


def test_arrays_are_taken_one_by_one() -> None:
    """Joint values of the doubts would be mixed up."""
    found = more_than(0, np.array([0.0, 0.5, 2.0]))
    np.testing.assert_allclose(found, [0.0, 1 - exp(-0.5), 1 - exp(-2.0)])


def test_outside_its_range_it_refuses() -> None:
    """A negative demand would give a negative kit."""
    for call in (lambda: more_than(0, -0.1), lambda: more_than(-1, 1.0)):
        with pytest.raises(OutOfRange):
            call()
