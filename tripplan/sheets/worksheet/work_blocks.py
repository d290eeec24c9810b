"""The work of one slot as a person does it: what opens together, left and right as one block.

Nothing of a job is lost by joining: what differs between the sides is told by side, and
every side keeps a tick box of its own.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tripplan.records.grouped import grouped
from tripplan.records.plan import Plan
from tripplan.records.plan_work import Job, Opened, Slot, WaterAct
from tripplan.records.words import JobKind
from tripplan.sheets import words as say
from tripplan.sheets.grease_notes import Notes
from tripplan.sheets.materials import short, to_lay_out
from tripplan.sheets.worksheet import work_order

SHARED_WHY = 3
ROUND = "round the rig, nothing opened"
AFTER_WATER, RECHECK = JobKind.AFTER_WATER, JobKind.RECHECK
WHY_WORDS: dict[str, str] = {AFTER_WATER: "After water", RECHECK: "Re-check"}


class Block(Struct, frozen=True, kw_only=True):
    """The same act at the same item, on one or more sides; `jobs` and `sides` go together."""

    sides: tuple[str, ...]
    jobs: tuple[Job, ...]

    @property
    def title(self) -> str:
        """Act and item, and the side when there is only one: Repack front wheel bearings, left."""
        job = self.jobs[0]
        side = self.sides[0] if len(self.sides) == 1 else ""
        return say.doing(job.said_act, job.name, side or None)

    @property
    def time(self) -> str:
        """The minutes of one side; empty where they are part of a walk-round."""
        if not self.jobs[0].minutes:
            return ""
        return say.duration(self.jobs[0].minutes) + (" each" if len(self.jobs) > 1 else "")

    def where_from(self, main_unit: str | None) -> str:
        """The place, with its unit where that is not the main one: engine bay; camper, trailer body."""
        job = self.jobs[0]
        return job.place if job.unit == main_unit else f"{job.unit}, {job.place}"

    @property
    def moves(self) -> str:
        """What moving the work would cost, told by side where the sides differ."""
        return by_side(self, lambda job: job.moves)


class Opening(Struct, frozen=True, kw_only=True):
    """Steps opened one after the other, the same on each of `sides`.

    `is_side_told` is set where the heading of the place does not tell this one side.
    """

    sides: tuple[str, ...]
    steps: tuple[Opened, ...]
    is_side_told: bool = False

    @property
    def words(self) -> str:
        """The steps in working order, with what stays open and what is open already."""
        side = f"{self.sides[0]}: " if self.is_side_told else ""
        return side + "; ".join(step.words + work_order.open_words(step) for step in self.steps)

    @property
    def is_closed_again(self) -> bool:
        """False where all of it stays open overnight."""
        return not all(step.kept_open for step in self.steps)

    @property
    def time(self) -> str:
        """The minutes of one side, there and back where it is closed again the same day."""
        is_whole = not any(step.was_open or step.kept_open for step in self.steps)
        each = " each" if len(self.sides) > 1 else ""
        return say.duration(sum(step.minutes for step in self.steps)) + (" both ways" if is_whole else "") + each


class Section(Struct, frozen=True, kw_only=True):
    """One place of one unit in one slot: its openings, its blocks, and the cautions they share.

    `is_round` marks the work of several places of which none is opened. The looks of a
    walk-round have no minutes of their own: `time` tells those of the whole.
    """

    title: str
    minutes: float
    time: str
    openings: tuple[Opening, ...]
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...]
    is_walk_round: bool = False
    is_round: bool = False

    @property
    def is_sided(self) -> bool:
        """True where something here is done on more than one side."""
        return any(len(one.sides) > 1 for one in self.openings) or any(len(one.sides) > 1 for one in self.blocks)


def sections(slot: Slot, walkround_minutes: float, is_unit_told: bool = True) -> tuple[Section, ...]:
    """The slot's work by unit and place, in working order, left and right together; the unit named where there are more.

    Places where nothing is opened are one section, the first; wheel nuts stand behind the wheels, the walk-round is the last.
    """
    places = grouped(((group.unit, group.place, group.is_beside), group) for group in work_order.groups(slot))
    closed = [
        held for (_, place, _), held in places.items()
        if place != work_order.LAST_OF_ALL and not any(g.opened or g.is_walk_round for g in held)
    ]  # fmt: skip
    opened = [_section(held, walkround_minutes, is_unit_told) for held in places.values() if held not in closed]
    if len(closed) < 2 and not any(group.is_beside for held in closed for group in held):
        return (*(_section(held, walkround_minutes, is_unit_told) for held in closed), *opened)
    together = _section([group for held in closed for group in held], walkround_minutes, is_unit_told)
    return (replace(together, title=ROUND, is_round=True), *opened)


def _section(groups: Sequence[work_order.Group], walkround_minutes: float, is_unit_told: bool) -> Section:
    first = groups[0]
    sides = tuple(group.position for group in groups if group.position)
    place = f"{first.unit}, {first.place}" if is_unit_told else first.place
    title = say.item(place, say.listed(sides) if len(sides) == len(groups) else None)
    blocks = blocks_of(job for group in groups for job in group.jobs)
    minutes = sum(group.minutes for group in groups)
    time = f"about {walkround_minutes:.0f} minutes as a whole" if first.is_walk_round else say.duration(minutes)
    return Section(
        title=first.title() if first.is_walk_round else title, minutes=minutes,
        time=time if minutes or first.is_walk_round else "part of the walk-round", openings=_openings(groups),
        blocks=blocks, cautions=repeated(block.jobs[0].cautions for block in blocks), is_walk_round=first.is_walk_round,
    )  # fmt: skip


def blocks_of(jobs: Iterable[Job]) -> tuple[Block, ...]:
    """Jobs with the sides of the same work made one block; a job without a side stands alone."""
    found: list[tuple[tuple[object, ...], list[Job]]] = []
    for job in jobs:
        key = (job.item, job.name, job.unit, job.place, job.act, job.minutes, job.kind, job.materials,
               job.cautions, job.early_signs, job.state)  # fmt: skip
        same = next((held for other, held in found if other == key and _is_new_side(held, job)), None)
        if same is None:
            found.append((key, [job]))
        else:
            same.append(job)
    return tuple(Block(sides=tuple(job.position or "" for job in held), jobs=tuple(held)) for _, held in found)


def _is_new_side(held: Sequence[Job], job: Job) -> bool:
    return bool(job.position) and all(other.position and other.position != job.position for other in held)


def _openings(groups: Sequence[work_order.Group]) -> tuple[Opening, ...]:
    """Steps that all opened sides share as one line, then what only some of them open."""
    chains = {group.position or "": [_step_key(s) for s in group.opened] for group in groups if group.opened}
    steps = {_step_key(step): step for group in groups for step in group.opened}
    shared = 0
    while chains and len({tuple(chain[: shared + 1]) for chain in chains.values()}) == 1:
        shared += 1
        if shared >= min(map(len, chains.values())):
            break
    lines = grouped(
        (part, side) for side, chain in chains.items()
        for part in (tuple(chain[:shared]), tuple(chain[shared:])) if part
    )  # fmt: skip
    return tuple(
        Opening(
            sides=tuple(sides), steps=tuple(steps[key] for key in part),
            is_side_told=len(sides) == 1 and bool(sides[0]) and len(groups) > 1,
        )
        for part, sides in lines.items()
    )  # fmt: skip


def _step_key(step: Opened) -> tuple[object, ...]:
    return step.state, step.words, step.minutes, step.kept_open, step.was_open


def repeated(lists: Iterable[Sequence[str]]) -> tuple[str, ...]:
    """What stands in more than one of these lists, each once."""
    counts = Counter(text for held in lists for text in dict.fromkeys(held))
    return tuple(text for text, number in counts.items() if number > 1)


def by_side(block: Block, told: Callable[[Job], str]) -> str:
    """A text of the block's jobs, once where the sides agree, else side by side."""
    texts = [told(job) for job in block.jobs]
    if len(set(texts)) == 1:
        return texts[0]
    return "; ".join(f"{side}: {text}" for side, text in zip(block.sides, texts, strict=True) if text)


def common_why(blocks: Sequence[Block]) -> str:
    """The reason, or the crossing, that most blocks share, to be said once; empty when none is frequent."""
    whys = Counter(
        _shared(job)
        for block in blocks
        for job in block.jobs[:1]
        if job.kind != RECHECK and by_side(block, lambda job: job.why) == job.why
    )
    text, number = max(whys.items(), key=lambda pair: pair[1], default=("", 0))
    return text if number >= SHARED_WHY else ""


def _shared(job: Job) -> str:
    """What a job may share with others: the crossing that calls for it, else its reason."""
    return job.why if job.crossing_km is None else f"crossing at trip km {job.crossing_km:.0f}"


def details(
    plan: Plan, slot: Slot, section: Section, block: Block, common: str, notes: Notes
) -> tuple[tuple[str, str], ...]:
    """What is told below a job's title, as name and text, in the order of the hands; nothing twice.

    First what to take care of and what to have ready, then what to do and what to look for, last why.

    `common` is the reason that was said once for the slot, or the crossing; what a job tells
    about grease is one of the `notes`. Looks of the walk-round are due as a whole, without reasons.
    """
    job = block.jobs[0]
    each = ", each side" if len(block.jobs) > 1 and job.materials else ""
    why = by_side(block, lambda job: job.cause if job.cause and _shared(job) == common else job.why)
    if section.is_walk_round or (job.kind not in WHY_WORDS and why == common):
        why = ""
    told = (
        ("Take care", "; ".join(caution for caution in job.cautions if caution not in section.cautions)),
        ("Use" + each, "; ".join(map(short, job.materials))),
        ("Grease", by_side(block, notes.reference)),
        ("How", by_side(block, lambda job: job.act_note)),
        ("Look for", job.early_signs),
        *water_words(plan, slot, block),
        (WHY_WORDS.get(job.kind, "Why"), why),
    )
    return tuple((name, say.sentence(text)) for name, text in told if text)


def water_words(plan: Plan, slot: Slot, block: Block) -> tuple[tuple[str, str], ...]:
    """How water may show at these jobs, and what to do then."""
    along = _acts_along(plan, slot, block)
    return (
        ("Water may show as", _joined(act.look_for for act in along)),
        ("If found", _joined(act.if_found for act in (*_own_acts(plan, slot, block), *along))),
    )


def _joined(texts: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(text for text in texts if text))


def _own_acts(plan: Plan, slot: Slot, block: Block) -> list[WaterAct]:
    """What water calls for and these jobs are."""
    here = {(job.item, job.unit, job.position, job.act) for job in block.jobs if job.kind == AFTER_WATER}
    return [act for act in _acts_in(plan, slot) if (act.item, act.unit, act.position, act.act) in here]


def _acts_along(plan: Plan, slot: Slot, block: Block) -> list[WaterAct]:
    """What water calls for and these greater jobs do on the way: it is no job of its own here."""
    own = {(job.item, job.unit, job.position, job.act) for job in slot.jobs if job.kind == AFTER_WATER}
    greater = {(job.item, job.unit, job.position) for job in block.jobs if job.kind != RECHECK}
    return [
        act for act in _acts_in(plan, slot)
        if (act.item, act.unit, act.position, act.act) not in own
        and greater & {(act.item, act.unit, act.position), (act.item, act.unit, None)}
    ]  # fmt: skip


def _acts_in(plan: Plan, slot: Slot) -> Iterator[WaterAct]:
    return (act for crossing in plan.crossings for act in crossing.acts if act.slot == slot.id)


class SlotSheet(Struct, frozen=True, kw_only=True):
    """All that the sheet tells of one slot."""

    slot: Slot
    sections: tuple[Section, ...]
    materials: tuple[str, ...]
    common_why: str

    @property
    def blocks(self) -> list[Block]:
        """The work of all places; the looks of the walk-round are told as a whole."""
        return [block for part in self.sections if not part.is_walk_round for block in part.blocks]

    def mostly(self, number: int = 2) -> str:
        """The places with the most minutes, for a summary in a few words."""
        longest = sorted((s for s in self.sections if s.minutes), key=lambda s: -s.minutes)
        return "; ".join(section.title for section in longest[:number])


def slot_sheet(slot: Slot, walkround_minutes: float, is_unit_told: bool = True) -> SlotSheet:
    """The slot as the sheet tells it; the walk-round takes those minutes as a whole."""
    parts = sections(slot, walkround_minutes, is_unit_told)
    sheet = SlotSheet(slot=slot, sections=parts, materials=to_lay_out(slot.jobs), common_why="")
    return replace(sheet, common_why=common_why(sheet.blocks))
