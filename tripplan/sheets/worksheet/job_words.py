"""What stands below a job on the sheet of its day: short, for hands that hold something else."""

from collections.abc import Sequence

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job, Slot
from tripplan.records.words import Act, JobKind
from tripplan.sheets import words
from tripplan.sheets.grease_notes import Notes
from tripplan.sheets.materials import grades, to_lay_out, used
from tripplan.sheets.worksheet import work_order
from tripplan.sheets.worksheet.work_blocks import (
    AFTER_WATER,
    RECHECK,
    Block,
    Section,
    SlotSheet,
    by_side,
    repeated,
    water_words,
)

TAKEN_APART = (Act.RENEW, Act.REPACK)
BENCH = ("rag",)
CLASS_MARKS = ("DIN", "ASTM", "SAE", "DOT", "ISO")


def day_cautions(parts: Sequence[Section]) -> tuple[str, ...]:
    """Cautions that more than one place of the day asks for, to be said once for all of it."""
    return repeated(
        [caution for block in part.blocks for caution in block.jobs[0].cautions]
        for part in parts if not part.is_walk_round
    )  # fmt: skip


def part_cautions(part: Section, all_day: Sequence[str]) -> tuple[str, ...]:
    """Cautions of the place that the day does not say."""
    return tuple(caution for caution in part.cautions if caution not in all_day)


def day_words(
    plan: Plan, slot: Slot, part: Section, block: Block, all_day: Sequence[str], notes: Notes
) -> tuple[tuple[str, str], ...]:
    """What is told below a job's title, as name and text, in the order of the hands: care, what with, how, what to look for.

    What the day or the place says for all is left out, and why the job is on the list stands at the end of the sheet.
    """
    job = block.jobs[0]
    own = [caution for caution in job.cautions if caution not in all_day and caution not in part.cautions]
    wet = water_words(plan, slot, block)
    if _is_told_before(part, block):
        return (("", words.sentence(by_side(block, lambda one: one.why))),)
    told = (
        ("", block.where_from(work_order.main_unit(plan) or block.jobs[0].unit) if part.is_round else ""),
        ("Take care", "; ".join(own)),
        ("Use", _use(block, notes)),
        ("How", by_side(block, lambda one: one.act_note)),
        ("Look for", "" if _is_without_signs(job) else job.early_signs),
        ("After water", by_side(block, lambda one: one.cause or one.why) if job.kind == AFTER_WATER else ""),
        *wet,
        ("", by_side(block, lambda one: one.why) if job.kind == RECHECK else ""),
    )
    return tuple((name, words.sentence(text)) for name, text in told if text)


def _is_told_before(part: Section, block: Block) -> bool:
    """True where the same look stands just above, for another side or reason: what to do is told there."""
    job = block.jobs[0]
    above = part.blocks[: part.blocks.index(block)]
    return job.kind == RECHECK and any(
        (other.jobs[0].item, other.jobs[0].act) == (job.item, job.act) for other in above
    )


def _use(block: Block, notes: Notes) -> str:
    """Materials of one side, and what must be known of its grease."""
    job = block.jobs[0]
    things = [used(one) for one in job.materials if one.what not in BENCH]
    if things and len(block.jobs) > 1:
        things[-1] += ", each side"
    brief = dict.fromkeys(text for one in job.fillings for text in one.brief)
    return "; ".join((*things, *brief, *([notes.reference(job)] if brief else ())))


def lay_out(slot: Slot) -> str:
    """What to put ready for the day, added up, with the class of what has one of its own, as sentences."""
    things = "; ".join(to_lay_out(slot.jobs))
    classes = [f"{name}: {grade}" for name, grade in grades(slot.jobs) if _has_class(grade)]
    return f"{things}." + (f" {words.upper_first('; '.join(classes))}." if classes else "")


def _has_class(grade: str) -> bool:
    return any(mark in grade for mark in CLASS_MARKS)


def morning_words(plan: Plan) -> str:
    """The looks of the walk-round by name, one sentence for each unit."""
    units = grouped(
        (item.unit, words.lower_first(item.name)) for item in plan.items if item.rhythm == JobKind.WALK_ROUND
    )
    begin = {unit: f"{unit}: " if len(units) > 1 else "" for unit in units}
    return " ".join(words.sentence(f"{begin[unit]}{', '.join(dict.fromkeys(names))}") for unit, names in units.items())


def looks(plan: Plan) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """How each look of the walk-round is done, and what to look for, once however often it comes."""
    found: dict[tuple[str, str, str], tuple[str, tuple[tuple[str, str], ...]]] = {}
    for job in (job for slot in plan.slots for job in slot.jobs if job.kind == JobKind.WALK_ROUND):
        told = (("Take care", "; ".join(job.cautions)), ("", job.act_note),
                ("Use", "; ".join(map(used, job.materials))), ("Look for", job.early_signs))  # fmt: skip
        title = words.doing(job.said_act, job.name, job.position)
        found.setdefault((job.unit, job.item, job.position or ""),
                         (title, tuple((name, words.sentence(text)) for name, text in told if text)))  # fmt: skip
    return tuple(found.values())


def signs(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Early signs that the sheet of a day leaves out, once an item: the item, and what shows."""
    found = {
        (job.name, job.early_signs): None
        for slot in plan.slots for job in slot.jobs if job.early_signs and _is_without_signs(job)
    }  # fmt: skip
    return tuple((words.upper_first(name), text) for name, text in found)


def _is_without_signs(job: Job) -> bool:
    """What is taken apart is looked at anyway; after water other signs count."""
    return job.kind == AFTER_WATER or job.act in TAKEN_APART


def _reason(job: Job) -> str:
    """Why a job is on the list; what to look for after water stands below the job itself."""
    is_of_water = job.kind == AFTER_WATER and job.cause and job.crossing_km is not None
    return f"asked for by the crossing at trip km {job.crossing_km:.0f}" if is_of_water else job.why


def reasons_of(sheet: SlotSheet) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Why each job is on the list, jobs of the same reason together: reason, jobs."""
    found = grouped(
        (_reason(job), words.lower_first(words.doing(job.said_act, job.name, job.position)))
        for block in sheet.blocks for job in block.jobs
    )  # fmt: skip
    return tuple((words.sentence(why), tuple(dict.fromkeys(names))) for why, names in found.items() if why)
