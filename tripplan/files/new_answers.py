"""Answers for a new folder judged: each by the reader of the field it fills, one Problem each, named by its question."""

from typing import Any

from pydantic import ValidationError

from tripplan.files.new_questions import QUESTIONS, Answers, Question, completed, parted
from tripplan.files.refusals import wording
from tripplan.files.zones import zones_like
from tripplan.records import facts_in
from tripplan.records.facts_in import Origin, Record
from tripplan.records.problem_codes import nearest, problem
from tripplan.records.problems import Problem

ANSWERED = Origin(file="answers")


def refusals_of(answers: Answers) -> tuple[Problem, ...]:
    """Every answer that is missing or cannot be used, one Problem each, named by its key."""
    said = completed(answers)
    found = (answer_refused(one, said.get(one.key, "")) for one in QUESTIONS if one.stands(said))
    return tuple(entry for entry in found if entry)


def answer_refused(question: Question, text: str) -> Problem | None:
    """Why this answer cannot be used; None where it can."""
    if not text.strip():
        return _missing(question) if question.is_needed else None
    if question.words:
        return None if text in question.words else _refused(question, text, nearest(text, question.words))
    if question.key == "home_zone":
        return _zone_refusal(question, text)
    parts = parted(text) if question.is_list else (text,)
    return next((found for part in parts if (found := _refused_by_record(question, part))), None)


def zone_of(text: str) -> str:
    """The zone that a text names for certain; else the text as it is, to be refused."""
    found = zones_like(text)
    return found[0] if len(found) == 1 else text


def _zone_refusal(question: Question, text: str) -> Problem | None:
    found = zones_like(text)
    if found == (text,):
        return None
    hint = f"is {found[0]} meant?" if len(found) == 1 else ""
    accepted = nearest(text, found, 4) if found else "a zone named after a large town, such as Australia/Darwin"
    return _refused(question, text, accepted, hint)


def _refused_by_record(question: Question, text: str) -> Problem | None:
    value: Any = [text] if question.field == "fitted" else text
    record: type[Record] = getattr(facts_in, question.record)
    try:
        record.model_validate({question.field: value, "origin": ANSWERED})
    except ValidationError as error:
        told = wording(error, record, "R", ANSWERED, {question.field: value}, {}, question.field)
        found = next(told, None)
        return found and _refused(question, text, found.accepted, found.hint)
    return None


def _missing(question: Question) -> Problem:
    accepted = nearest("", question.words) or question.hint or "an answer"
    return problem("A51", ANSWERED, question.key, "nothing", accepted, f"{question.asks}?")


def _refused(question: Question, found: str, accepted: str, hint: str = "") -> Problem:
    return problem("A52", ANSWERED, question.key, found, accepted, hint)
