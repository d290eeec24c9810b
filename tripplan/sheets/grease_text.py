"""What `tripplan grease` prints: as sentences for the shed, and as JSON."""

from collections.abc import Iterator, Sequence
from typing import Any

from tripplan.grease.advice import Advice, Choice, amount_words, capital
from tripplan.grease.mixing import VERDICTS, Verdict
from tripplan.records.lubricants import GreaseGun
from tripplan.records.plan import Reason

MANUAL = "Grades, torques and clearances: the vehicle maker's manual rules."


def advice_text(advices: Sequence[Advice], gun: GreaseGun | None) -> str:
    """All spaces of one item, one block each."""
    blocks = ["\n".join(_block(advice)) for advice in advices]
    weighed = f"Gun: {gun.g_per_stroke:g} g a stroke, weighed on {gun.date}." if gun else "Gun: not weighed yet."
    return "\n\n".join([*blocks, f"{weighed} {MANUAL}"])


def _block(advice: Advice) -> Iterator[str]:
    side = f", {advice.position}" if advice.position else ""
    yield f"{advice.item.name} ({advice.unit}{side}): {advice.cavity.cavity}"
    yield f"    asked for  {advice.cavity.needs}"
    yield f"    in it now  {advice.holds.words}"
    yield f"    amount     {amount_words(advice)}"
    if advice.cavity.washed:
        yield "    first      the old comes out with this act; on top of the old, look at the second verdict"
    for choice in sorted(advice.choices, key=lambda choice: VERDICTS.index(advice.verdict(choice).word)):
        yield from _choice(advice, choice)
    if not advice.choices:
        yield "    may go in  nothing held is known to suit; read the tin against what is asked for"
    for caution in advice.cautions:
        yield f"    mind       {caution}"


def _choice(advice: Advice, choice: Choice) -> Iterator[str]:
    verdict = advice.verdict(choice)
    yield f"    {choice.lubricant.label}: {verdict.word}"
    yield f"        {verdict.next_step}"
    yield from (f"        {capital(reason.text)} ({_rows(reason)})" for reason in verdict.reasons)
    if advice.cavity.washed and choice.on_top.word != verdict.word:
        yield f"        On top of the old: {choice.on_top.word}. {capital(choice.on_top.reasons[0].text)}"


def _rows(reason: Reason) -> str:
    return "; ".join(str(origin) for origin in reason.origins)


def advice_json(advices: Sequence[Advice], gun: GreaseGun | None) -> dict[str, Any]:
    """The same as plain dicts, lists, text and numbers."""
    weighed = {"g_per_stroke": gun.g_per_stroke, "strokes": gun.strokes, "date": gun.date.isoformat()} if gun else None
    return {"places": [_place(advice) for advice in advices], "gun": weighed, "note": MANUAL}


def _place(advice: Advice) -> dict[str, Any]:
    held, amount = advice.holds, advice.amount
    return {
        "item": advice.item.id, "name": advice.item.name, "unit": advice.unit, "position": advice.position,
        "cavity": advice.cavity.cavity, "asked_for": advice.cavity.needs, "way": advice.cavity.way,
        "old_comes_out": advice.cavity.washed,
        "in_it_now": {
            "lubricant": held.lubricant.id if held.lubricant else None, "said": held.said,
            "date": held.row.date.isoformat() if held.row else None,
            "origin": held.row.origin.model_dump() if held.row else None, "words": held.words,
        },
        "amount": {
            name: getattr(amount, name) for name in
            ("dry_g", "top_up_g", "dry_strokes", "top_up_strokes", "before_bearing_strokes", "most_strokes",
             "litres_low", "litres_high", "carry_l", "how")
        } | {"words": amount_words(advice), "origin": amount.origin.model_dump()},
        "choices": [
            {"lubricant": c.lubricant.id, "name": c.lubricant.label, "verdict": advice.verdict(c).word,
             "washed_clean": _verdict(c.clean), "on_top": _verdict(c.on_top)}
            for c in advice.choices
        ],
        "mind": list(advice.cautions),
    }  # fmt: skip


def _verdict(verdict: Verdict) -> dict[str, Any]:
    reasons = [{"text": r.text, "origins": [origin.model_dump() for origin in r.origins]} for r in verdict.reasons]
    return {"word": verdict.word, "next_step": verdict.next_step, "reasons": reasons}
