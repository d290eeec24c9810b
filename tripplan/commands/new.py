"""`tripplan new`: ask what a trip folder needs, write it, and say what to do next; or take the shape of a demo."""

import os
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from tripplan.commands.status import (
    MADE,
    MADE_WITH_WARNINGS,
    command_problem,
    day_of,
    refused,
    tell,
    tells_refusals,
)
from tripplan.commands.terminal import ask, is_a_person_there, say, say_document
from tripplan.commands.typed_days import day_by_order, only_day
from tripplan.files.new_questions import FITTED, QUESTIONS, TRAILER_FITTED, Question, parted
from tripplan.records.cell_values import PLAIN_NUMBER
from tripplan.records.problem_codes import nearest
from tripplan.records.problems import BadInput, Problem, problem_row

ZONE_LINK, ZONES = "/etc/localtime", "/zoneinfo/"
MISSING = "A51"
UNFILLED = ("F05", "L10")
THINGS_FITTED = {"fitted": FITTED, "trailer_fitted": TRAILER_FITTED}
AT_START = "Enter takes what stands in brackets. Empty stays unknown. Nothing is written before the last answer.\n"


@tells_refusals
def new(
    folder: Path, like: str | None, answers: Mapping[str, str], heights: Sequence[str],
    trailer_heights: Sequence[str], today: str | None, as_json: bool,
) -> int:  # fmt: skip
    """Write a new trip folder from answers, asked for where they are missing; or in the shape of a demo."""
    from tripplan.files.new_folder import refuse_to_overwrite
    from tripplan.files.new_toml import EVERY_HEIGHT, EVERY_TRAILER_HEIGHT

    day = day_of(today)
    refuse_to_overwrite(folder)
    given = {
        **answers, **_heights(heights, "height.", EVERY_HEIGHT),
        **_heights(trailer_heights, "trailer_height.", EVERY_TRAILER_HEIGHT),
    }  # fmt: skip
    return _asked(folder, given, day, as_json) if like is None else _like(folder, like, given, day, as_json)


def _like(folder: Path, name: str, given: Mapping[str, str], today: date, as_json: bool) -> int:
    from tripplan.files.demos import DEMOS, like_demo_files
    from tripplan.wear.invented import MARK

    if name not in DEMOS:
        raise refused("A03", name, f"one of {', '.join(DEMOS)}")
    if given:
        raise refused("A09", "answers beside --like", "--like NAME alone", "change the values in the files themselves")
    said = f'Every row and name that is the demo\'s begins with "{MARK}"; tripplan check tells which are left.'
    return _put(folder, like_demo_files(name, today), [said], True, as_json)


def _asked(folder: Path, given: Mapping[str, str], today: date, as_json: bool) -> int:
    from tripplan.files.new_folder import new_folder_files, refusals_of

    answers = {key: _tidied(key, text) for key, text in given.items()}
    if is_a_person_there() and not as_json:
        answers = _with_prompts(answers)
    if problems := refusals_of(answers):
        raise BadInput([_by_option(found) for found in problems])
    return _put(folder, new_folder_files(answers, today), [], bool(answers.get("way.from")), as_json, today)


def _by_option(found: Problem) -> Problem:
    """A refused answer, named by its option instead of its question."""
    option = next(one.option for one in QUESTIONS if one.key == found.column)
    said = f"no {option}" if found.code == MISSING else f"{option} {found.found}"
    return command_problem(found.code, said, found.accepted, found.hint)


def _put(
    folder: Path, files: Mapping[str, bytes], notes: Sequence[str], has_way: bool, as_json: bool, today: date | None = None
) -> int:  # fmt: skip
    """Write the folder and say what comes next; from `today` its answers are held against each other as well."""
    from tripplan.files.new_folder import next_steps, put_new_folder

    written = [path.name for path in put_new_folder(folder, files)]
    steps = next_steps(str(folder), has_way)
    problems = _contradictions(folder, today) if today is not None else ()
    if as_json:
        rows = [problem_row(problem) for problem in problems]
        say_document({"folder": str(folder), "written": written, "next": list(steps), "problems": rows})
        return MADE_WITH_WARNINGS if problems else MADE
    say("\n".join((f"\nWritten to {folder}: {', '.join(written)}", *notes, "", "Next:")))
    say("\n".join(f"  {number}. {step}" for number, step in enumerate(steps, 1)))
    if problems:
        say("\nFirst put right in these files what cannot be as it was answered:\n")
        tell(problems, as_json)
    return MADE_WITH_WARNINGS if problems else MADE


def _contradictions(folder: Path, today: date) -> tuple[Problem, ...]:
    """What the new folder has against itself, but for tables that are still to be filled."""
    from tripplan.files.folder import load

    _, _, problems = load(folder, today)
    return tuple(problem for problem in problems if problem.code not in UNFILLED)


def _with_prompts(given: Mapping[str, str]) -> dict[str, str]:
    """The answers with those asked for that are missing, in the order of the questions."""
    say(AT_START)
    said = dict(given)
    order: list[bool] = []
    for question in QUESTIONS:
        if question.is_prompted and question.stands(said) and question.key not in said:
            said[question.key] = _one_answer(question, order)
    return said


def _one_answer(question: Question, order: list[bool]) -> str:
    """One answer that can be used; `order` is filled once somebody says that the day or the month comes first."""
    from tripplan.files.new_folder import answer_refused

    usual = question.usual or (machine_zone() if question.key == "home_zone" else "")
    told = f" ({', '.join(question.words) or question.hint})" if question.words or question.hint else ""
    while True:
        text = ask(f"{question.asks}{told}{f' [{usual}]' if usual else ''}: ") or usual
        text = _tidied(question.key, _word_begun(text, question.words), order)
        found = answer_refused(question, text)
        if found is None:
            return text
        say("    an answer is needed here" if found.code == MISSING else
            f"    accepted: {found.accepted}{f'; {found.hint}' if found.hint else ''}")  # fmt: skip


def _word_begun(text: str, words: Sequence[str]) -> str:
    """The one word that begins so, else the text as it is."""
    begun = [word for word in words if text and word.startswith(text.lower())]
    return begun[0] if len(begun) == 1 else text


def _tidied(key: str, text: str, order: list[bool] | None = None) -> str:
    """A town as its zone and days in figures as the files write them, where only one can be meant or it is told which."""
    from tripplan.files.new_folder import DAYS, zone_of

    if key == "home_zone":
        return zone_of(text)
    if key not in DAYS:
        return _worded(key, text.strip())
    return "; ".join(only_day(part) if order is None else day_by_order(part, order) for part in parted(text))


def _worded(key: str, text: str) -> str:
    """The words of the question that have the same letters: part time is part-time, leaf springs are leaf-springs."""
    if key in THINGS_FITTED:
        return ", ".join(_same_letters(part, THINGS_FITTED[key]) for part in parted(text))
    return _same_letters(text, next((one.words for one in QUESTIONS if one.key == key), ()))


def _same_letters(text: str, words: Sequence[str]) -> str:
    return next((word for word in words if _letters(word) == _letters(text)), text)


def _letters(text: str) -> str:
    return "".join(mark for mark in text.casefold() if mark.isalnum())


def _heights(pairs: Sequence[str], prefix: str, known: Sequence[str]) -> dict[str, str]:
    found = {}
    for pair in pairs:
        point, sign, text = pair.partition("=")
        if not sign or not PLAIN_NUMBER.fullmatch(text.strip()):
            raise refused("A09", pair, "POINT=MM, e.g. hub_centre=405")
        if point.strip() not in known:
            raise refused("A09", pair, f"POINT=MM with a point such as {nearest(point.strip(), known, 6)}")
        found[f"{prefix}{point.strip()}"] = text.strip()
    return found


def machine_zone() -> str:
    """The time zone this machine is set to, where its system tells the name; else nothing."""
    named = os.environ.get("TZ", "")
    found = named if "/" in named else os.path.realpath(ZONE_LINK).partition(ZONES)[2]
    return found.removeprefix("posix/") if "/" in found and not found.startswith("Etc/") else ""
