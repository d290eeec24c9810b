"""Rule of thumb for heat: oil rate doubles per 10 deg C.

Read on a trade web page (a second page, also read, disputes it for modern oils). The factors
in print follow from the rule.
"""

import pytest

from tests.published.printed import agrees
from tripplan.wear.mechanisms.heat import oil_ageing_ratio


@pytest.mark.parametrize(("rise_c", "printed"), [(0, "1"), (5, "1.41"), (10, "2"), (20, "4")])
def test_oil(rise_c: float, printed: str) -> None:
    """Oil run hot would be kept as long as oil run cool."""
    assert agrees(printed, float(oil_ageing_ratio(90 + rise_c, 90)))
