"""What the outputs of a plan need beside the plan itself: made the same way by every command and by the page."""

from typing import Any

from tripplan.explain.cards import crossing_cards
from tripplan.files.folder import Inputs
from tripplan.files.plan_folder import situation
from tripplan.records.catalogue import Catalogue
from tripplan.records.plan import Plan
from tripplan.sheets.field.bank import bank_of
from tripplan.sheets.route_places import places_of


def beside_plan(plan: Plan, inputs: Inputs, catalogue: Catalogue) -> dict[str, Any]:
    """The cards, the places on the map and the phone's answers at the water, as `write_outputs` names them."""
    around = situation(inputs, catalogue, plan.today)
    places = places_of(plan, inputs.trip, inputs.lines)
    return {"cards": crossing_cards(around, plan), "places": places, "bank": bank_of(around, inputs)}
