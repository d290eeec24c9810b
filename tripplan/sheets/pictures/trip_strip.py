"""The route alone as one low picture for the first page: legs, stops, crossings and days from departure to return."""

from html import escape

from tripplan.records.plan import Plan
from tripplan.sheets import words as say
from tripplan.sheets.pictures.trip_line_route import Sheet, route

WIDTH, MARGIN, LETTERS = 760.0, 22.0, 12.5


def trip_strip_svg(plan: Plan) -> str:
    """The strip as an SVG element; empty where there are no legs."""
    if not plan.legs:
        return ""
    last = plan.legs[-1]
    sheet = Sheet(width=WIDTH, label_width=0, depart_x=MARGIN, return_x=WIDTH - MARGIN, font=LETTERS,
                  trip_km=plan.trip_km)  # fmt: skip
    drawn, bottom = route(plan, sheet, has_km=False)
    title = f"The way from {plan.legs[0].from_} to {last.to}"
    told = f"{say.count(len(plan.legs), 'leg', 'legs')}, {say.km(sheet.trip_km)}; thick lines are far from help."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {bottom:.1f}" role="img" '
        f'aria-labelledby="strip-title strip-told" font-family="system-ui, sans-serif" fill="currentColor">'
        f'<title id="strip-title">{escape(say.printable(title))}</title>'
        f'<desc id="strip-told">{escape(say.printable(told))}</desc>' + "".join(drawn) + "</svg>"
    )
