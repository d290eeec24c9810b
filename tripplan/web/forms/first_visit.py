"""The first visit: a demo copied into the folder, or a rig and a trip described by the questions of `tripplan new`."""

from collections.abc import Mapping
from datetime import date

from tripplan.files.new_folder import DAYS, new_folder_files, refusals_of
from tripplan.files.new_questions import QUESTIONS, Question, parted
from tripplan.records.problems import BadInput, Problem
from tripplan.web.forms.fields import Form, last
from tripplan.web.forms.slips import Field
from tripplan.web.forms.typed import as_files_have_it, plain_day, plain_number

# The questions as the form puts them together: what each part is called, and the first of its questions.
PARTS = (
    ("The rig", "rig_name"), ("What was done last", "odometer_km"), ("A trailer", "trailer"), ("The trip", "trip.name"),
    ("The way", "way.from"), ("Days in the shed", "shed.days"),
)  # fmt: skip
LATER = "Can be said later"
# What is done with a new folder, in the order and to the purpose of those that `tripplan new` tells.
NEXT_STEPS = (
    ("Write the way, a leg for each stretch, with its water and its stops", "/trip#legs"),
    ("Write what you know was done, or paste an old table", "/history"),
    ("See the plan", "/"),
)


def form_parts() -> tuple[tuple[str, tuple[Question, ...]], ...]:
    """The questions in the parts of the form; what may be left to the files is the last."""
    starts = {key: title for title, key in PARTS}
    parts: dict[str, list[Question]] = {}
    title = ""
    for question in QUESTIONS:
        title = starts.get(question.key, title)
        parts.setdefault(title if question.is_prompted else LATER, []).append(question)
    last = {LATER: parts.pop(LATER, [])}
    return tuple((title, tuple(own)) for title, own in (parts | last).items())


def new_files(form: Form, today: date) -> dict[str, bytes]:
    """All files of a new trip folder, from the form as it was typed. Raises BadInput for answers that cannot be used."""
    answers = {name: _as_answered(name, last(form, name)) for name in form if name != "csrf"}
    if problems := refusals_of(answers):
        raise BadInput(problems)
    return new_folder_files(answers, today)


def field_of(problem: Problem) -> Field | None:
    """The question, or the height, that a problem is about, as the form calls it."""
    column = problem.column or ""
    question = next((one for one in QUESTIONS if one.key == column), None)
    if question is not None and problem.file == "answers":
        return Field(place=f"{column}-wrong", label=question.asks)
    unit, _, point = column.partition("].heights_mm.")
    if problem.file == "rig.toml" and point:
        name = f"{'height' if unit == 'unit[1' else 'trailer_height'}.{point}"
        return Field(place=f"{name}-wrong", label=point.replace("_", " ").capitalize())
    return None


def shown_answers(typed: Mapping[str, str]) -> dict[str, str]:
    """What the form shows: what was typed, and at first what is usual."""
    return {**{one.key: one.usual for one in QUESTIONS if one.usual}, **typed}


def _as_answered(name: str, text: str) -> str:
    """An answer with its figure or its days as the files have them."""
    if "height." in name:
        return plain_number(text, "mm")
    if name in DAYS:
        return "; ".join(map(plain_day, parted(text))) if ";" in text or "shed" in name else plain_day(text)
    field = next((one.field for one in QUESTIONS if one.key == name), name)
    return as_files_have_it(field, text)
