"""The outputs beside a folder, brought up to date when the page has recorded something, as the commands do."""

from collections.abc import Callable
from pathlib import Path

from tripplan.explain.cards import crossing_cards
from tripplan.files.folder import Inputs
from tripplan.files.outputs_place import place_of
from tripplan.files.recording import outputs_held
from tripplan.planner import look_around
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import Plan
from tripplan.records.problems import BadInput
from tripplan.sheets.field.bank import bank_of
from tripplan.sheets.outputs import write_outputs
from tripplan.sheets.route_places import places_of


def refresh(folder: Path, inputs: Inputs, catalogue: Catalogue, plan: Plan, is_current: Callable[[], bool]) -> bool:
    """Write the outputs anew where they were last written; True when that is done or nothing is kept there.

    Nothing is written when the folder is another than the plan's by then, so that outputs never
    follow those of a newer state, nor where the place cannot be written any more.
    """
    out = place_of(folder)
    if out is None:
        return True
    around = look_around(inputs.rig, inputs.history, inputs.trip, catalogue, plan.today)
    cards, bank = crossing_cards(around), bank_of(around, inputs)
    places = places_of(plan, inputs.trip, inputs.lines)
    try:
        with outputs_held(out):
            if not is_current():
                return False
            write_outputs(plan, out, cards=cards, places=places, bank=bank)
    except (BadInput, OSError):
        return False
    return True
