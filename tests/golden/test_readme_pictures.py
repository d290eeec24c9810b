"""The README's pictures are what the program makes today, as the demo's outputs beside them are."""

import os

import pytest

from tests.golden.readme_pictures import PICTURES, pictures


@pytest.mark.parametrize("name", sorted(pictures()))
def test_a_picture_of_the_readme_is_real_output(name: str) -> None:
    """Otherwise the first thing that a stranger sees would be a sheet that no run makes."""
    made = pictures()[name]
    if os.environ.get("TRIPPLAN_GOLDEN") == "write":
        PICTURES.mkdir(exist_ok=True)
        (PICTURES / name).write_text(made, encoding="utf-8")
    assert (PICTURES / name).read_text(encoding="utf-8") == made
