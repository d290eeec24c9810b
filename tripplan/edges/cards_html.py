"""`cards.html`: one A5 side for each crossing ahead, to be read by torchlight without a machine."""

from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from tripplan import cards
from tripplan.cards import CardCase, CardMark, CardPlace, CardWindow, CrossingCard
from tripplan.edges import say
from tripplan.plan import Plan

CAUTION = (
    "No card says that water can be driven. Where depth, flow, bed or what lives in it cannot be known, "
    "do not walk in and do not drive in: wait, or turn round. Never into flood water."
)
WHEN_WORDS = {
    "bank": "At the bank", "night": "Tonight", "days": "Within", "before remote": "Before the next remote leg",
    "later": "Again after",
}  # fmt: skip
SHORT_NOTES = {
    cards.STALLED: "Do not crank it: water in a cylinder bends rods. Air cleaner, plugs or injectors and oil "
    "first; if it will not crank, stop trying (TM 9-2320-280-10 p. 2-146).",
    cards.SALT: "Rinse the underside and the brakes with fresh water at once, wherever there is any.",
}
LONG_CARD, VERY_LONG_CARD = 1500, 2300


def cards_html(plan: Plan, found: Sequence[CrossingCard]) -> str:
    """The whole page as text; every word of the trip in it is escaped."""
    return _template().render(
        plan=plan, cards=found, say=say, caution=CAUTION, turn_round=cards.TURN_ROUND, title=title, depths=depths,
        acts=acts_text, when=when_text, places=places_text, notes=notes, marks=marks_text, size=size,
    )  # fmt: skip


@cache
def _template() -> Template:
    loader = PackageLoader("tripplan.edges", "templates")
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters["clean"] = say.printable
    return environment.get_template("cards.html.j2")


def title(case: CardCase) -> str:
    """What tells the case, with the depths it stands for."""
    words = {
        cards.BELOW: "Stayed below the hubs", cards.REACHED: "Reached the hubs: also",
        cards.ABOVE: "Came above the hubs, up to the sill: also", cards.STALLED: "Engine stopped in the water: also",
        cards.SALT: "Salt water: also", cards.PLANNED: "As planned; no hub height is known",
    }  # fmt: skip
    return words[case.key]


def depths(case: CardCase) -> str:
    """The depths a case stands for: 0.25 to 0.41 m; empty where depth does not tell it."""
    if case.from_m is None or case.to_m is None:
        return ""
    low = f"{case.from_m:.2f} to " if case.from_m > 0 else "up to "
    return f"{low}{case.to_m:.2f} m"


def notes(case: CardCase) -> tuple[str, ...]:
    """What to know at once, in few words where the case is known for it."""
    return (SHORT_NOTES[case.key],) if case.key in SHORT_NOTES else case.notes


def when_text(window: CardWindow) -> str:
    """The window in words with its figures."""
    words = WHEN_WORDS[window.when]
    if window.when in ("days", "later"):
        return f"{words} {window.words}"
    return f"{words}, at most {window.words}" if window.when == "before remote" and window.words else words


def acts_text(window: CardWindow) -> str:
    """The acts of a window: what is done, then to which parts, those of a trailer after the vehicle's."""
    found: dict[str, list[str]] = {}
    for act in window.acts:
        found.setdefault(act.act, []).extend(act.names)
    return ". ".join(f"{say.upper_first(act)}: {'; '.join(_inner(names))}" for act, names in found.items()) + "."


def _inner(names: Sequence[str]) -> Sequence[str]:
    return [name[:1].lower() + name[1:] if name[1:2].islower() else name for name in names]


def places_text(case: CardCase) -> str:
    """How the next days change against the plan, as one sentence a place."""
    return " ".join(_place(place) for place in case.places)


def _place(place: CardPlace) -> str:
    if place.day is None:
        return f"No stop is in time for: {say.listed(place.big)}."
    parts = [*place.big, *([say.count(place.small, "smaller job", "smaller jobs")] if place.small else [])]
    more = [f"adds {say.listed(parts)}"] if parts else []
    less = [f"spares {say.count(place.fewer, 'job', 'jobs')}"] if place.fewer else []
    return f"{place.place}, {say.short_day(place.day)}: {', '.join([*more, *less])}."


def marks_text(found: Sequence[CardMark]) -> str:
    """Heights to hold against the wet line, equal ones together: wagon hub centre 0.41 m."""
    heights: dict[tuple[str, float], list[str]] = {}
    for mark in found:
        heights.setdefault((mark.unit, mark.height_m), []).append(mark.point.replace("_", " "))
    return "; ".join(f"{unit} {say.listed(points)} {height:.2f} m" for (unit, height), points in heights.items())


def size(card: CrossingCard) -> str:
    """How close the card is set: plain, close or closest, by how much it has to say."""
    length = sum(
        len(acts_text(window)) + len(when_text(window)) for case in card.cases for window in case.windows
    ) + sum(len(places_text(case)) + sum(map(len, case.notes)) for case in card.cases)
    return "closest" if length > VERY_LONG_CARD else "close" if length > LONG_CARD else "plain"
