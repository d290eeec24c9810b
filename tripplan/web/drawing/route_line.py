"""The way of the trip alone, from departure to return, for a screen too narrow for every item beneath it."""

from html import escape

from tripplan.records.plan import Plan
from tripplan.sheets.pictures.trip_line_route import route, sheet_for


def route_picture(plan: Plan) -> str:
    """The head of the trip line as one SVG element: legs, stops, crossings and days."""
    sheet = sheet_for(plan, True)
    drawn, y = route(plan, sheet)
    name = f"The way of {plan.trip}: legs and stops from departure to return."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width:g} {y + 6:.0f}" role="img" '
        f'aria-label="{escape(name)}" fill="currentColor" font-family="inherit">{"".join(drawn)}</svg>'
    )
