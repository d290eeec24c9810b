"""An option for every question of a new folder, made from the questions themselves so that none is written twice."""

import inspect
from collections.abc import Callable
from typing import Annotated, Any

import typer

from tripplan.files.new_questions import QUESTIONS, Question

Answer = Callable[..., None]


def name_of(question: Question) -> str:
    """The parameter that holds the answer."""
    return question.key.replace(".", "_")


def _help(question: Question) -> str:
    told = ", ".join(question.words) or question.hint
    usual = f" Without it {question.usual}." if question.usual else ""
    return f"{question.asks}{f': {told}' if told else ''}.{usual}"


def _words(question: Question) -> Callable[[], list[str]]:
    """What the shell offers behind the option."""
    return lambda: list(question.words)


def with_answers(command: Answer) -> Answer:
    """The command with an option for each question in place of its `**answers`."""
    own = inspect.signature(command)
    kept = [one for one in own.parameters.values() if one.kind is not inspect.Parameter.VAR_KEYWORD]
    asked = [
        inspect.Parameter(
            name_of(question), inspect.Parameter.KEYWORD_ONLY, default=None,
            annotation=Annotated[
                str | None, typer.Option(question.option, help=_help(question), autocompletion=_words(question))
            ],
        )
        for question in QUESTIONS
    ]  # fmt: skip
    whole: Any = command
    whole.__signature__ = own.replace(parameters=[*kept, *asked])
    whole.__annotations__ = {one.name: one.annotation for one in (*kept, *asked)} | {"return": None}
    return command


def answers_of(given: dict[str, Any]) -> dict[str, str]:
    """The answers given as options, by the keys of the questions."""
    return {one.key: given[name_of(one)] for one in QUESTIONS if given.get(name_of(one)) is not None}
