"""Two lubricants where the place asks for nothing, so that only what they make of each other tells."""

from collections.abc import Sequence

from tests.grease.test_amounts import space
from tripplan.grease.mixing import Verdict, may_go_in
from tripplan.records.lubricants import LubricantRow, PairRating


def mixes(new: LubricantRow, there: LubricantRow | None, pairs: Sequence[PairRating]) -> Verdict:
    """What may_go_in says of them in a place that takes any of that kind; of a fluid a grade has to be stated."""
    return may_go_in(new, there, space(kind=new.kind), pairs)
