"""What the jobs tell about grease and oil, once for each space that is filled, as numbered notes.

The same words stand with many jobs of a long plan. Each note keeps every sentence of its
jobs; what differs between the sides is told with its side, and what several notes say
stands once under a letter.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job
from tripplan.sheets import words

SENTENCE_ENDS = re.compile(r"(?<=\.) (?=[A-Z0-9])")
CLAUSE_ENDS = re.compile(r"; (?![^()]*\))")
FEWEST, SHORTEST = 3, 35
Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One space of one unit, and all that is told about filling it."""

    number: int
    name: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """All notes of a plan, what several of them say under a letter, and the note of each job."""

    letters: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]
    numbers: dict[Key, int]

    def reference(self, job: Job) -> str:
        """The job's note as words; empty when the job tells nothing about grease or oil."""
        return f"note {self.numbers[_key(job)]}" if job.lubrication else ""


def grease_notes(plan: Plan) -> Notes:
    """The notes of every job of the plan, in the order of the work."""
    jobs: dict[Key, list[Job]] = {}
    for job in (job for slot in plan.slots for job in slot.jobs if job.lubrication):
        jobs.setdefault(_key(job), []).append(job)
    told = [_joined(same) for same in jobs.values()]
    marks = _letters(told)
    units = {job.unit for same in jobs.values() for job in same}
    return Notes(
        letters=tuple((letter, words.sentence(text)) for text, letter in marks.items()),
        notes=tuple(
            Note(number=number, name=_title(same[0], len(units) > 1), text=_with_letters(sentences, marks))
            for number, (same, sentences) in enumerate(zip(jobs.values(), told, strict=True), 1)
        ),
        numbers={key: number for number, key in enumerate(jobs, 1)},
    )


def _key(job: Job) -> Key:
    return job.unit, job.item, job.act


def _space(text: str) -> str:
    return text.partition(":")[0].strip()


def _title(job: Job, is_unit_told: bool) -> str:
    unit = f" ({job.unit})" if is_unit_told else ""
    return f"{_space(job.lubrication)}{unit}, {job.act}"


def _joined(jobs: Sequence[Job]) -> tuple[str, ...]:
    """Every sentence of the jobs once; one that not all sides say carries its sides."""
    sides: dict[str, dict[str, None]] = {}
    for job in jobs:
        for sentence in SENTENCE_ENDS.split(job.lubrication.removeprefix(f"{_space(job.lubrication)}:").strip()):
            sides.setdefault(sentence.rstrip("."), {})[job.position or ""] = None
    everywhere = {job.position or "" for job in jobs}
    return tuple(
        sentence if set(held) == everywhere else f"{words.upper_first(words.listed(held))}: {sentence}"
        for sentence, held in sides.items()
    )


def _letters(notes: Sequence[Sequence[str]]) -> dict[str, str]:
    """Long sentences, then long clauses of the others, that several notes hold, each with its letter."""
    later = [note[1:] for note in notes]
    sentences = _often(later)
    clauses = _often([[c for s in note if s not in sentences for c in CLAUSE_ENDS.split(s)] for note in later])
    return dict(zip((*sentences, *clauses), ascii_uppercase, strict=False))


def _often(notes: Sequence[Sequence[str]]) -> tuple[str, ...]:
    counts = Counter(text for note in notes for text in dict.fromkeys(map(words.upper_first, note)))
    return tuple(text for text, number in counts.items() if number >= FEWEST and len(text) >= SHORTEST)


def _with_letters(sentences: Sequence[str], marks: Mapping[str, str]) -> str:
    """What the space needs, the sentences without what a letter tells, and the letters at the end."""
    kept, used = [words.sentence(sentences[0])], []
    for sentence in sentences[1:]:
        parts = [sentence] if words.upper_first(sentence) in marks else CLAUSE_ENDS.split(sentence)
        used += [marks[text] for part in parts if (text := words.upper_first(part)) in marks]
        rest = [part for part in parts if words.upper_first(part) not in marks]
        if rest:
            kept.append(words.sentence("; ".join(rest)))
    told = f"{'Letters' if len(used) > 1 else 'Letter'} {', '.join(dict.fromkeys(used))}." if used else ""
    return " ".join((*kept, told)).strip()
