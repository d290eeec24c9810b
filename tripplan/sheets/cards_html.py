"""`cards.html`: one A5 side for each crossing ahead, to be read by torchlight without a machine."""

from collections.abc import Sequence
from functools import cache, lru_cache
from math import ceil

from jinja2 import Template

from tripplan.explain import cards
from tripplan.explain.card_places import CardJob, CardPlace
from tripplan.explain.cards import CardCase, CardLine, CardMark, CardWindow, CrossingCard
from tripplan.records.plan import Plan
from tripplan.records.words import WaterWindow
from tripplan.sheets import words as say
from tripplan.sheets.escaped import templates

CAUTION = (
    "No card says that water can be driven. Where depth, flow, bed or what lives in it cannot be known, "
    "neither walk nor drive in: wait, or turn round. Never into a flood."
)
WHEN_WORDS: dict[str, str] = {
    WaterWindow.BANK: "At the bank, before driving on",
    WaterWindow.HALT: "First halt, 10 to 50 km",
    WaterWindow.NIGHT: "Same evening",
    WaterWindow.DAYS: "Within",
    WaterWindow.BEFORE_REMOTE: "Before the next remote leg",
    WaterWindow.LATER: "Again after",
}
CASE_WORDS = {
    cards.BELOW: "below the hubs", cards.REACHED: "at the hubs", cards.HOT: "hard on the hubs",
    cards.ABOVE: "floor", cards.STALLED: "stopped", cards.SALT: "salt", cards.PLANNED: "as planned",
}  # fmt: skip
SHORT_NOTES = {
    cards.HOT: "Look at every hub: a dry one says nothing of the others.",
    cards.STALLED: "Do not crank it: water in a cylinder bends rods. Air cleaner, plugs or injectors and oil "
    "first (TM 9-2320-280-10 p. 2-146).",
    cards.SALT: "Rinse underside and brakes at the first fresh water.",
}
MARK_WORDS = {"hub_centre": "hubs", "axle_centre": "axle", "door_sill": "sill", "trailer_floor": "floor"}
SIDE_WIDTH_PT, SIDE_HEIGHT_PT = 385.5, 566.9  # A5 (ISO 216) less the margins of the page
LETTER_WIDTH, BOLD_WIDTH = 0.45, 0.485  # of the size, in running text whose digits are 0.556 wide; measured
LEADING = 1.14
READABLE_PT = 9.0  # by torchlight: judgement, no source
ROOMY, FULL = 0.9, 0.99
SIZES_PT = tuple(quarter / 4 for quarter in range(48, 27, -1))


def cards_html(plan: Plan, found: Sequence[CrossingCard] | None) -> str:
    """The whole page as text; every word of the trip in it is escaped. None = not worked out."""
    return _template().render(
        plan=plan, cards=found, say=say, caution=CAUTION, turn_round=cards.TURN_ROUND, title=title, depths=depths,
        lines=case_lines, when=when_text, changes=changes, notes=notes, marks=marks_text, size=size,
        sizes=sorted({size(card) for card in found or ()}), leading=LEADING,
    )  # fmt: skip


@cache
def _template() -> Template:
    return templates("tripplan.sheets", "templates").get_template("cards.html.j2")


def title(case: CardCase, water: str) -> str:
    """What tells the case on a card of that water; water at the hubs is an easy one only where it is fresh."""
    easy = "fresh, cool, up to 5 minutes" if water == "fresh" else f"{water}, however short"
    words = {
        cards.BELOW: "Stayed below the hubs", cards.REACHED: f"At the hubs: {easy}",
        cards.HOT: "Hard on the hubs: hot, silt, more than 5 minutes or deeper",
        cards.ABOVE: "Floor: sill, starter or breathers reached", cards.STALLED: "Engine stopped in the water",
        cards.SALT: "Salt water", cards.PLANNED: "As planned; no hub height is known",
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
    if window.when in (WaterWindow.DAYS, WaterWindow.LATER):
        return f"{words} {window.words}"
    return f"{words}, at most {window.words}" if window.when == WaterWindow.BEFORE_REMOTE and window.words else words


def case_lines(window: CardWindow) -> tuple[tuple[str, str], ...]:
    """What each case adds in a window: its word, and the acts in a line."""
    return tuple((CASE_WORDS[line.case], _acts_text(line)) for line in window.lines)


def _acts_text(line: CardLine) -> str:
    """What is done, then to which parts, those of a trailer after the vehicle's."""
    found: dict[str, list[str]] = {}
    for act in line.acts:
        found.setdefault(act.act, []).extend(act.names)
    return ". ".join(say.doing_each(act, names) for act, names in found.items()) + "."


def changes(card: CrossingCard) -> tuple[tuple[str, str], ...]:
    """The larger jobs by which each case changes the next days, place by place; what is the same is told once.

    An engine that stopped and salt change the days past the reach of a card: they are planned again.
    """
    found: list[tuple[str, str]] = []
    for case in card.cases:
        told = say.upper_first("; ".join(map(_place, case.places)))
        known = case.key in (cards.STALLED, cards.SALT) or any(told == text for _, text in found)
        if told and not known:
            found.append((CASE_WORDS[case.key], told))
    return tuple(found)


def _place(place: CardPlace) -> str:
    if place.day is None:
        return f"no stop in time to {say.listed(_act_once(place.jobs))}"
    return f"{place.place} {say.short_day(place.day)}, {say.listed(_act_once(place.jobs))}"


def _act_once(jobs: Sequence[CardJob]) -> list[str]:
    """Jobs of one act after another with the act said once: repack front bearings, rear bearings."""
    told, last = [], ""
    for job in jobs:
        told.append(job.name if job.act == last else f"{job.act} {job.name}")
        last = job.act
    return told


def marks_text(found: Sequence[CardMark]) -> str:
    """Heights to hold against the wet line, unit by unit: wagon hubs 0.41 m, sill 0.61 m."""
    units: dict[str, dict[str, None]] = {}
    for mark in found:
        words = f"{MARK_WORDS[mark.point]} {mark.height_m:.2f} m"
        units.setdefault(mark.unit, {})[words] = None
    return "; ".join(f"{unit} {', '.join(words)}" for unit, words in units.items())


@lru_cache(maxsize=64)
def size(card: CrossingCard) -> float:
    """How large the card is set, in points: the largest that leaves a tenth of its side free.

    From the smallest size that a torch shows well it leaves less, before the letters become smaller.
    """
    for points in SIZES_PT:
        most = ROOMY if points > READABLE_PT else FULL
        if height_pt(card, points) <= most * SIDE_HEIGHT_PT:
            return points
    return SIZES_PT[-1]


def height_pt(card: CrossingCard, points: float) -> float:
    """How much of the side the card takes when it is set in that size, by the length of what it says."""
    small = 0.86 * points
    head = _height(f"{card.from_} to {card.to}, {say.day(card.date)}. Planned: 0.55 m, {card.water}.", points)
    head += _height(CAUTION, points, BOLD_WIDTH, 12) + _height(
        " ".join(cards.TURN_ROUND) + " " * 26, small, inset_pt=12
    )
    foot = _height(marks_text(card.marks) + " " * 58, small) + _height(" " * 160, small)
    told = [f"{title(case, card.water)}, {depths(case)}. {' '.join(notes(case))}   " for case in card.cases]
    blocks = [["".join(told) + " " * 12]]
    for window in card.windows:
        steps = "".join(f"{step}    " for step in window.steps)
        blocks.append([steps, "".join(f"{case}.  {acts}   " for case, acts in case_lines(window))])
    blocks.append(["".join(f"{case}.  {text}   " for case, text in changes(card))])
    return 1.43 * points + 16 + head + foot + sum(_block_height(block, points) for block in blocks if any(block))


def _block_height(texts: Sequence[str], points: float) -> float:
    """A heading of one line, and the texts under it, each running on."""
    return 0.3 * points + 3 + _height("x", points) + sum(_height(text, points) for text in texts if text)


def _height(text: str, points: float, width: float = LETTER_WIDTH, inset_pt: float = 0.0) -> float:
    lines = ceil(len(text) * width * points / (SIDE_WIDTH_PT - inset_pt))
    return lines * points * LEADING + 0.1 * points
