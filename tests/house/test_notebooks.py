"""Notebooks run clean from an empty start."""

from pathlib import Path

import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


@pytest.mark.slow
@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs_clean(path: Path) -> None:
    """An owner who follows a derivation would find it broken."""
    nbformat = pytest.importorskip("nbformat")
    nbclient = pytest.importorskip("nbclient")
    book = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(book, timeout=120, resources={"metadata": {"path": str(path.parent)}}).execute()
