"""Trip-aware preventive maintenance for a four-wheel-drive and its trailer.

The front door: what a notebook or another program needs, each loaded when it is asked for.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tripplan.files.data_tables import read_catalogue as read_catalogue
    from tripplan.files.plan_folder import read as read_folder
    from tripplan.planner import make_plan as make_plan
    from tripplan.records.catalogue import Catalogue as Catalogue
    from tripplan.records.facts_in import Crossing as Crossing
    from tripplan.records.facts_in import HistoryRow as HistoryRow
    from tripplan.records.facts_in import Leg as Leg
    from tripplan.records.facts_in import Rig as Rig
    from tripplan.records.facts_in import Stop as Stop
    from tripplan.records.facts_in import Trip as Trip
    from tripplan.records.facts_in import Unit as Unit
    from tripplan.records.plan import Plan as Plan
    from tripplan.records.problems import BadInput as BadInput
    from tripplan.records.problems import OutOfRange as OutOfRange
    from tripplan.records.problems import Problem as Problem
    from tripplan.sheets.outputs import write_outputs as write_outputs

__version__ = "0.1.0"

_ROOM_OF = {
    "make_plan": "planner", "read_folder": "files.plan_folder:read", "read_catalogue": "files.data_tables",
    "write_outputs": "sheets.outputs", "Rig": "records.facts_in", "Unit": "records.facts_in",
    "HistoryRow": "records.facts_in", "Trip": "records.facts_in", "Leg": "records.facts_in",
    "Stop": "records.facts_in", "Crossing": "records.facts_in", "Catalogue": "records.catalogue",
    "Plan": "records.plan", "Problem": "records.problems", "BadInput": "records.problems",
    "OutOfRange": "records.problems",
}  # fmt: skip
__all__ = [
    "BadInput", "Catalogue", "Crossing", "HistoryRow", "Leg", "OutOfRange", "Plan", "Problem", "Rig", "Stop", "Trip",
    "Unit", "make_plan", "read_catalogue", "read_folder", "write_outputs",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """Load a public name from its room."""
    if name not in _ROOM_OF:
        raise AttributeError(f"tripplan has no {name!r}; it has {', '.join(__all__)}")
    module, _, there = _ROOM_OF[name].partition(":")
    return getattr(import_module(f"tripplan.{module}"), there or name)


def __dir__() -> list[str]:
    """The public names."""
    return [*__all__, "__version__"]
