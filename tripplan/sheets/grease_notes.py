"""What the jobs tell about grease and oil, once for each space that is filled, as numbered notes.

The same words stand with many jobs of a long plan. Each note keeps every sentence of its
jobs; what differs between the sides is told with its side, and what several notes say
stands once, with the numbers of those notes.
"""

from collections import Counter
from collections.abc import Sequence

from msgspec import Struct

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job
from tripplan.sheets import words

FEWEST, SHORTEST = 3, 35
Key = tuple[str, str, str]
Sentence = tuple[str, ...]


class Note(Struct, frozen=True, kw_only=True):
    """One space of one unit, and all that is told about filling it."""

    number: int
    name: str
    text: str


class Notes(Struct, frozen=True, kw_only=True):
    """All notes of a plan, what several of them say with their numbers, and the note of each job."""

    shared: tuple[tuple[str, str], ...]
    notes: tuple[Note, ...]
    numbers: dict[Key, int]

    def reference(self, job: Job) -> str:
        """The job's note as words; empty when the job tells nothing about grease or oil."""
        return f"note {self.numbers[_key(job)]}" if job.fillings else ""


def grease_notes(plan: Plan) -> Notes:
    """The notes of every job of the plan, in the order of the work."""
    jobs = grouped((_key(job), job) for slot in plan.slots for job in slot.jobs if job.fillings)
    told = [_joined(same) for same in jobs.values()]
    marks = _often_told(told)
    units = {job.unit for same in jobs.values() for job in same}
    return Notes(
        shared=_shared(told, marks),
        notes=tuple(
            Note(number=number, name=_title(same[0], len(units) > 1), text=_without(sentences, marks))
            for number, (same, sentences) in enumerate(zip(jobs.values(), told, strict=True), 1)
        ),
        numbers={key: number for number, key in enumerate(jobs, 1)},
    )


def _key(job: Job) -> Key:
    return job.unit, job.item, job.act


def _title(job: Job, is_unit_told: bool) -> str:
    unit = f" ({job.unit})" if is_unit_told else ""
    return f"{job.fillings[0].space}{unit}, {job.act}"


def _sentences(job: Job) -> tuple[Sentence, ...]:
    """What the job tells, what the first space takes first; further spaces are named where they begin."""
    first, *others = job.fillings
    rest = [sentence for one in others for sentence in ((f"{one.space}: {one.needs}",), *one.told)]
    return ((first.needs,), *first.told, *rest)


def _joined(jobs: Sequence[Job]) -> tuple[Sentence, ...]:
    """Every sentence of the jobs once; one that not all sides say carries its sides."""
    found = grouped((sentence, job.position or "") for job in jobs for sentence in _sentences(job))
    everywhere = {job.position or "" for job in jobs}
    return tuple(
        sentence if set(held) == everywhere else _with_sides(sentence, tuple(dict.fromkeys(held)))
        for sentence, held in found.items()
    )


def _with_sides(sentence: Sentence, sides: Sequence[str]) -> Sentence:
    first, *others = sentence
    return f"{words.upper_first(words.listed(sides))}: {first}", *others


def _often_told(notes: Sequence[Sequence[Sentence]]) -> tuple[str, ...]:
    """Long sentences, then long clauses of the others, that several notes hold."""
    later = [note[1:] for note in notes]
    sentences = _often([[_whole(sentence) for sentence in note] for note in later])
    clauses = _often([[c for s in note if _whole(s) not in sentences for c in s] for note in later])
    return (*sentences, *clauses)


def _shared(notes: Sequence[Sequence[Sentence]], marks: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """What several notes say, each once, with their numbers: Notes 1, 4 and 7."""
    found = grouped(
        (text, str(number)) for number, note in enumerate(notes, 1) for sentence in note[1:]
        for text in ((_whole(sentence),) if _whole(sentence) in marks else map(words.upper_first, sentence))
    )  # fmt: skip
    told = ((text, words.listed(dict.fromkeys(found[text]))) for text in marks if text in found)
    return tuple((f"Notes {numbers}", words.sentence(text)) for text, numbers in told)


def _whole(sentence: Sentence) -> str:
    return words.upper_first("; ".join(sentence))


def _often(notes: Sequence[Sequence[str]]) -> tuple[str, ...]:
    counts = Counter(text for note in notes for text in dict.fromkeys(map(words.upper_first, note)))
    return tuple(text for text, number in counts.items() if number >= FEWEST and len(text) >= SHORTEST)


def _without(sentences: Sequence[Sentence], marks: Sequence[str]) -> str:
    """What the space needs, and the sentences without what stands once for several notes."""
    kept = [words.sentence(_whole(sentences[0]))]
    for sentence in sentences[1:]:
        parts = () if _whole(sentence) in marks else sentence
        rest = [part for part in parts if words.upper_first(part) not in marks]
        if rest:
            kept.append(words.sentence("; ".join(rest)))
    return " ".join(kept)
