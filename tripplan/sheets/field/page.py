"""`field.html` as text: the sheet in the width of a phone, with its style, its script and its data inside.

The file states its own content policy: nothing is fetched, and only this style and this script are used, known by
their hashes. The data is JSON in which no mark can end the script it stands in.
"""

import base64
import hashlib
import json
from collections.abc import Sequence
from functools import cache, partial
from importlib.resources import files
from typing import Any

from jinja2 import Template
from markupsafe import Markup

from tripplan.explain.cards import TURN_ROUND, CrossingCard
from tripplan.files.field_records.trip_key import trip_key
from tripplan.records.plan import TRIP_OVER, Need, Plan
from tripplan.records.plan_work import Slot
from tripplan.records.words import Finding, SlotKind
from tripplan.sheets import cards_html, words
from tripplan.sheets.escaped import templates
from tripplan.sheets.field import lasting, work
from tripplan.sheets.field.bank import Bank
from tripplan.sheets.field_text import ROUND_DEPTHS_M, ROUND_MINUTES
from tripplan.sheets.materials import amount
from tripplan.sheets.worksheet import work_order

SCRIPTS = ("water.js", "text.js", "qr.js", "store.js", "parts.js", "page.js")
STYLE = "field.css"
KIND_WORDS = {"workshop": "Workshop day", "stop": "Stop", "after": "After the return"}
MANUAL = (
    "Torques, clearances and fluid grades come from the vehicle maker's manual, never from here. "
    "Some work is reserved for licensed people; check the local rules."
)
OPENING = {mark: f"\\u{ord(mark):04x}" for mark in "<>&\u2028\u2029"}


def field_html(plan: Plan, cards: Sequence[CrossingCard] | None, bank: Bank | None) -> str:
    """The whole file; equal plans give equal files. Without `bank` it tells the plan and computes nothing at the water."""
    style, script = _part(STYLE), "\n".join(map(_part, SCRIPTS))
    return _template().render(
        plan=plan, say=words, work=work, cards=cards, bank=bank, manual=MANUAL, caution=cards_html.CAUTION,
        turn_round=TURN_ROUND, kind_words=KIND_WORDS, slots=_with_something(plan), keys=_keys(plan),
        stations=_stations(plan), round=work.walk_round(plan), main=plan.items[0].unit if plan.items else "",
        on_the_road=[check for check in plan.rechecks if check.slot is None and check.from_km < plan.trip_km],
        case_title=cards_html.title, case_depths=cards_html.depths, case_notes=cards_html.notes,
        when=cards_html.when_text, case_lines=cards_html.case_lines, wave=bank.wave if bank else None,
        whole_km=plan.trip_km, legs=lasting.stations(plan), lasting=lasting.groups(plan),
        warnings=[told for told in plan.warnings if told.kind != TRIP_OVER],
        has_units=work_order.has_units(plan), of_unit=partial(work_order.of_unit, plan),
        need_amount=_need_amount, use_text=partial(words.use_text, is_unit_told=work_order.has_units(plan)), style=Markup(style), script=Markup(script),
        policy=policy(style, script), data=Markup(as_data(told_to_script(plan, bank))),
    )  # fmt: skip


def policy(style: str, script: str) -> str:
    """What the file may use: its own style and script, and nothing from anywhere."""
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )


def as_data(value: object) -> str:
    """JSON that may stand inside a script element: no mark in it can end the element or open another."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return "".join(OPENING.get(mark, mark) for mark in text)


def told_to_script(plan: Plan, bank: Bank | None) -> dict[str, Any]:
    """What the script reads: which trip this is, its places and findings, and the rules of the water."""
    return {
        "key": trip_key(plan.rig, plan.trip, plan.depart.isoformat()), "rig": plan.rig, "trip": plan.trip,
        "depart": plan.depart.isoformat(), "return": plan.return_.isoformat(), "planned": plan.today.isoformat(),
        "findings": [str(finding) for finding in Finding],
        "act_words": words.ACT_WORDS, "round_depths_m": ROUND_DEPTHS_M, "round_minutes": ROUND_MINUTES,
        "units": list(dict.fromkeys(item.unit for item in plan.items)),
        "readings": bank.readings if bank else {}, "taken": list(bank.taken) if bank else [], "water": bank.data if bank else None,
    }  # fmt: skip


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode()}"


@cache
def _part(name: str) -> str:
    return files("tripplan.sheets.field").joinpath(name).read_text(encoding="utf-8")


@cache
def _template() -> Template:
    environment = templates("tripplan.sheets", "field")
    environment.filters["picture"] = Markup
    return environment.get_template("field.html.j2")


def _keys(plan: Plan) -> dict[str, str]:
    """An address inside the page for each slot."""
    return {slot.id: f"place{number}" for number, slot in enumerate(plan.slots, 1)}


def _with_something(plan: Plan) -> tuple[Slot, ...]:
    return tuple(slot for slot in plan.slots if slot.jobs or slot.contingent)


def _stations(plan: Plan) -> tuple[tuple[str, Slot | None], ...]:
    """Departure and return between the slots before, on and after the trip."""
    before, on_the_way, after = ([(kind.value, slot) for slot in plan.slots if slot.kind == kind] for kind in SlotKind)
    depart = (f"Departure, {words.short_day(plan.depart)}", None)
    return (*before, depart, *on_the_way, (f"Return, {words.short_day(plan.return_)}", None), *after)


def _need_amount(need: Need) -> str:
    return amount(need.quantity, need.unit_of_measure)
