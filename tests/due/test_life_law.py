"""What the law of life is given has to lie where it holds, and the message names the row to change."""

import pytest
from msgspec.structs import replace

from tripplan.due.life_law import Prior, posterior
from tripplan.files.data_tables import read_catalogue
from tripplan.records.catalogue import Item
from tripplan.records.problems import OutOfRange

CATALOGUE, _ = read_catalogue()
PLAIN = Prior(life=40000, share=0.1, error_factor=1.5, shape=2.5, shape_error_factor=1.3)


@pytest.mark.parametrize(
    ("name", "value", "row"),
    [
        ("life", 0, "the interval in items.csv"),
        ("share", 0.95, "interval_percentile_of_life in assumptions.csv"),
        ("error_factor", 30, "life_error_factor in assumptions.csv"),
        ("shape", 20, "life_shape in items.csv"),
        ("shape_error_factor", 9, "life_shape_error_factor in assumptions.csv"),
    ],
)
def test_a_figure_out_of_range_names_its_row(name: str, value: float, row: str) -> None:
    """Otherwise an owner who changed a number would be sent to a file that no folder has."""
    with pytest.raises(OutOfRange) as refused:
        posterior(replace(PLAIN, **{name: value}), ())
    assert refused.value.source == row and str(refused.value).endswith(f" ({row})")
    column = row.split()[0]
    known = {one.name for one in CATALOGUE.assumptions} | set(Item.model_fields)
    assert column == "the" or column in known
