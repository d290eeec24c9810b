"""Every model says what it gives, where it holds, where it comes from, and a worked number."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.published.printed import agrees
from tripplan.wear import mechanisms

SECTIONS = (
    "Gives", "Takes", "Formula", "Holds for", "Refuses", "Worked", "Source", "Basis", "Checked",
)  # fmt: skip
HELPERS = {"within"}
WORKED = re.compile(r"^    Worked     (.+) -> (\S+)$", re.M)
CHECKED = re.compile(r"tests/(?:\w+/)+\w+\.py")
ROOT = Path(mechanisms.__path__[0]).parents[2]


def models() -> list[tuple[Any, Callable[..., Any]]]:
    """Every public function of the package, with its module."""
    found = []
    for info in pkgutil.iter_modules(mechanisms.__path__, "tripplan.wear.mechanisms."):
        module = importlib.import_module(info.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == info.name and not name.startswith("_") and name not in HELPERS:
                found.append((module, function))
    return found


@pytest.mark.parametrize(("module", "model"), models(), ids=lambda part: getattr(part, "__name__", ""))
def test_description(module: Any, model: Callable[..., Any]) -> None:
    """A number in the plan would come from a model that does not say where it holds."""
    text = model.__doc__ or ""
    places = [text.find(f"\n    {section} ") for section in SECTIONS]
    assert -1 not in places and places == sorted(places), "sections missing or out of order"
    worked = WORKED.search(text)
    assert worked, "no worked number"
    value = eval(worked.group(1), dict(vars(module)))
    assert agrees(worked.group(2), float(value)), value
    assert re.search(r"\n    Basis      (published|derived|judgement)\n", text)
    checks = CHECKED.findall(text)
    assert checks and all((ROOT / check).is_file() for check in checks)
