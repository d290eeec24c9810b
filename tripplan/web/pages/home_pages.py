"""Will we get home: what the trip risks, what each hour of work buys, and the kit as a list to tick."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from tripplan.explain.shelf import stocks
from tripplan.records.plan import Plan
from tripplan.records.plan_kit import CarryKit
from tripplan.risk.kit import carry_kit
from tripplan.sheets import kit_text, risk_text
from tripplan.sheets.pictures.hours_curve import hours_curve_svg
from tripplan.web.pages.render import page
from tripplan.web.pages.trip_pages import planned
from tripplan.web.saves.saving import Seen

USUAL_KG, USUAL_LITRES, MOST = 25.0, 40.0, 1000.0
routes = APIRouter(default_response_class=HTMLResponse)


@routes.get("/home")
def get_home(request: Request, kg: str = "", litres: str = "") -> Response:
    """The figures, the curve, the ten items, the kit."""
    seen, plan = planned(request)
    most_kg, most_litres = _limit(kg, USUAL_KG), _limit(litres, USUAL_LITRES)
    curves = [Markup(picture) for picture in (hours_curve_svg(plan), hours_curve_svg(plan, narrow=True)) if picture]
    return page(
        request, "get_home.html.j2", title="Will we get home", seen=seen, plan=plan, risk=plan.risk, curves=curves,
        home=risk_text.home_words(plan.risk) if plan.risk and plan.risk.legs else (), kit=kit_of(seen, plan, most_kg, most_litres),
        kit_words=kit_text, risk_words=risk_text, kg=f"{most_kg:g}", litres=f"{most_litres:g}",
    )  # fmt: skip


def kit_of(seen: Seen, plan: Plan, most_kg: float, most_litres: float) -> CarryKit:
    """The kit within both limits, with what stands on the shelf."""
    shelf = seen.inputs.kit.shelf if seen.inputs else ()
    held = {what: stock.quantity for what, stock in stocks(shelf, seen.catalogue.consumables).items()}
    hours = plan.risk.standing_hours_expected.plan if plan.risk else 0.0
    return carry_kit(plan.spares, hours, most_kg, most_litres, held)


def _limit(text: str, usual: float) -> float:
    """A limit as typed; what cannot be one gives the usual, which then stands in the field."""
    try:
        found = float(text)
    except ValueError:
        return usual
    return found if 0.0 <= found <= MOST else usual
