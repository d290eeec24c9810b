"""The work sheet on the screen, on paper and as text: nothing lost, nothing hidden, in order."""

import csv
import io
import re
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from lxml import html
from msgspec.structs import replace

from tests.sample_plan import many_items, sample_plan
from tests.sheets.map_folder import map_folder, places_in, plan_on_map
from tripplan.files.folder import load
from tripplan.files.plan_folder import quick_plan
from tripplan.records.plan import DUE, Plan, PlanWarning
from tripplan.records.plan_work import Job, Material, Opened
from tripplan.sheets import words as say
from tripplan.sheets.field.work import parts as phone_parts
from tripplan.sheets.grease_notes import grease_notes
from tripplan.sheets.lists import tasks_csv
from tripplan.sheets.materials import grades, to_lay_out, used
from tripplan.sheets.summary_text import terminal_summary
from tripplan.sheets.text_lines import COLUMNS, wrap
from tripplan.sheets.worksheet.buying import carry_words
from tripplan.sheets.worksheet.html import worksheet_html
from tripplan.sheets.worksheet.job_words import BENCH, day_cautions, day_words, looks
from tripplan.sheets.worksheet.text import worksheet_text
from tripplan.sheets.worksheet.wall import remember
from tripplan.sheets.worksheet.water import windows
from tripplan.sheets.worksheet.work_blocks import ROUND, blocks_of, common_why, details, sections
from tripplan.sheets.worksheet.work_order import (
    CROSSING_NOTE,
    WALK_ROUND,
    by_window,
    groups,
    on_the_way,
    verdict_words,
)


def page(plan: Plan) -> html.HtmlElement:
    """The page as a tree."""
    return html.document_fromstring(worksheet_html(plan))


def words(text: str) -> str:
    """A text with every run of white space as one blank."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def tree() -> html.HtmlElement:
    """The page of the sample."""
    return page(sample_plan())


def both() -> list[str]:
    """The sheet in its two forms, as running words."""
    plan = sample_plan()
    return [words(page(plan).find(".//main").text_content()), words(worksheet_text(plan))]


@pytest.mark.parametrize("form", [0, 1])
def test_every_job_with_cautions_and_signs(form: int) -> None:
    """Otherwise somebody would lie under the car without the caution in front of them."""
    told = both()[form]
    for slot in sample_plan().slots:
        for job in slot.jobs:
            assert say.doing(job.act, job.name) in told
            for line in (*job.cautions, job.early_signs, job.why):
                assert line[1:].rstrip(".") in told
        for step in slot.opened:
            assert step.words in told


@pytest.mark.parametrize("form", [0, 1])
def test_warnings_stand_in_full_before_the_work(form: int) -> None:
    """Otherwise the owner would start work without having read what cannot be met."""
    told, plan = both()[form], sample_plan()
    start = told.index("The work, in order")
    for warning in (*(told.text for told in plan.warnings), *plan.ways_out):
        assert told.index(warning) < start
    problem = plan.problems[0]
    for part in (problem.place, problem.code, problem.found, problem.hint):
        assert told.lower().index(part.lower()) < start


def test_water_behind_with_nothing_recorded_is_asked_about_and_no_card_is_to_be_taken_for_it() -> None:
    """Otherwise the page of the 25th would tell to take the card for a ford of the 24th, and its depth be forgotten."""
    plan = sample_plan()
    first, second = (replace(plan.crossings[0], date=day, crossed=None) for day in (date(2026, 7, 5), date(2026, 7, 9)))
    before = replace(plan, today=date(2026, 7, 5), crossings=(first, second))
    told = " ".join(remember(before))
    assert "Water on 5 and 9 July: take the 2 cards" in told and "behind you" not in told
    told = " ".join(remember(replace(before, today=date(2026, 7, 6))))
    assert "Water on 9 July: take the card of the crossing" in told
    assert "Water behind you with nothing recorded: leg" in told and "Sun 5 July. Record how deep" in told


@pytest.mark.parametrize("form", [0, 1])
def test_work_stands_in_the_order_of_time_and_opening(form: int) -> None:
    """Otherwise a wheel would come off twice."""
    told = both()[form]
    told = told[told.index("The work, in order") :]
    order = [
        "tray off, plug out", "Drain and refill engine oil", "Sat 27 June", "wheel off, on stands; caliper hung",
        "Measure front brake pads left", "Repack front wheel bearings", "On the road",
        "stop, Dry Box Station", "stop, Saltbush Crossing", "Return", "Renew main fuel filter",
    ]  # fmt: skip
    places = []
    for text in order:
        places.append(told.index(text, places[-1] if places else 0))
    assert places == sorted(places)


def job_boxes(tree: html.HtmlElement) -> list[html.HtmlElement]:
    """The tick boxes that belong to jobs."""
    return [box for box in tree.xpath("//input") if re.search(r"-job\d+-\d+$", box.get("id"))]


def all_jobs(plan: Plan) -> list[Job]:
    """Every job of every slot."""
    return [job for slot in plan.slots for job in slot.jobs]


@pytest.mark.parametrize("name", ["sample", "outback"])
def test_every_job_keeps_its_own_tick_box(name: str) -> None:
    """Otherwise one side of the car would be ticked off with the other."""
    plan = sample_plan() if name == "sample" else outback()
    assert len(job_boxes(page(plan))) == len(all_jobs(plan))
    for slot in plan.slots:
        blocks = [block for part in sections(slot, 20.0) for block in part.blocks]
        assert sorted(map(repr, (job for block in blocks for job in block.jobs))) == sorted(map(repr, slot.jobs))
        assert all(len(block.sides) == len(set(block.sides)) == len(block.jobs) for block in blocks)


@cache
def outback() -> Plan:
    """The long invented demo, planned by the plain rule, which is fast."""
    today = date(2026, 5, 25)
    inputs, catalogue, problems = load(Path(__file__).parents[2] / "demo" / "outback", today)
    assert inputs is not None
    return quick_plan(inputs, catalogue, today, problems)


def test_a_window_is_known_by_its_kind_not_by_its_words() -> None:
    """Otherwise a window worded anew would slip to the end of the sheet."""
    acts = [replace(act, window=f"{9 - n} as we say it") for n, act in enumerate(sample_plan().crossings[0].acts)]
    kinds = [same[0].window_kind for _, same in by_window(reversed(acts))]
    assert kinds == ["bank", "night", "days", "before remote", "later"]


def test_the_crossing_that_calls_for_many_jobs_is_told_once() -> None:
    """Otherwise every line of a wet day would end in the same km, or a crossing would be told of a job it did not reach."""
    base = replace(all_jobs(sample_plan())[0], kind="after water", crossing_km=95.4, position=None)
    wet = [replace(base, item=f"wet{n}", cause=f"milk {n}", why=f"milk {n} (said anyhow)") for n in range(3)]
    other = replace(base, item="other", cause="rust", why="rust (crossing at trip km 12)", crossing_km=12.0)
    blocks = blocks_of((*wet, other))
    assert common_why(blocks) == "crossing at trip km 95"
    plan, slot = sample_plan(), replace(sample_plan().slots[0], jobs=(*wet, other))
    section = sections(slot, 0.0)[0]
    told = [
        dict(details(plan, slot, section, b, common_why(blocks), grease_notes(plan)))["After water"] for b in blocks
    ]
    assert told == ["Milk 0.", "Milk 1.", "Milk 2.", "Rust (crossing at trip km 12)."]


@pytest.mark.parametrize("form", [0, 1])
def test_a_long_sheet_hides_nothing_of_any_job(form: int) -> None:
    """Otherwise joining the sides, or saying a thing once, would have swallowed a caution or a material."""
    plan = outback()
    told = words(page(plan).find(".//main").text_content() if form == 0 else worksheet_text(plan)).lower()
    for job in all_jobs(plan):
        known = (job.cause or job.why) if job.kind != "walk-round" else ""
        texts = (
            job.name,
            job.early_signs,
            job.act_note,
            known,
            *job.cautions,
            *(used(one) for one in job.materials if one.what not in BENCH),
        )
        for text in texts:
            assert words(text).rstrip(".").lower() in told, text
        for filling in job.fillings:
            for clause in (filling.needs, *(clause for sentence in filling.told for clause in sentence)):
                assert words(clause).lower() in told, clause
                assert clause.lower() in job.lubrication.lower(), clause
    for step in (step for slot in plan.slots for step in slot.opened):
        assert step.words.lower() in told
    for text in (*(told.text for told in plan.warnings), *plan.ways_out, *plan.assumptions):
        assert words(text).lower() in told
    assert all(item.name.lower() in told for item in plan.items if item.rhythm == "walk-round")
    for act in (act for crossing in plan.crossings for act in crossing.acts):
        assert not act.if_found or words(act.if_found).lower() in told, act
        assert words(act.look_for).lower() in told, act
    for need in (*plan.shopping, *plan.carry):
        assert (carry_words(need) if need.when == "carry" else need.name).lower() in told
    for name, grade in grades(all_jobs(plan)):
        assert f"{name}: {grade}".lower() in told


def test_a_caution_is_said_for_the_day_the_place_or_with_its_job() -> None:
    """Otherwise a caution of one job could be lost when those of the others are said once, or stand there 27 times."""
    plan = outback()
    for slot in plan.slots:
        parts = sections(slot, 20.0)
        all_day = day_cautions(parts)
        for part in parts:
            for block in part.blocks if not part.is_walk_round else ():
                own = dict(day_words(plan, slot, part, block, all_day, grease_notes(plan))).get("Take care", "")
                for caution in block.jobs[0].cautions:
                    told = (caution in all_day, caution in part.cautions, caution.lower() in own.lower())
                    assert any(told) and not (told[2] and (told[0] or told[1]))
                assert len({job.cautions for job in block.jobs}) == 1
    road, _ = words(worksheet_text(plan)).lower().split("behind the sheet")
    assert road.count("stands, not jacks") <= len(plan.slots) + 4


def test_what_differs_between_the_sides_is_told_by_side() -> None:
    """Otherwise the left bearing would be packed for a reason that is the right one's."""
    slot = sample_plan().slots[1]
    jobs = tuple(
        replace(job, why=f"worn {job.position}") if job.item == "front_wheel_bearings" else job for job in slot.jobs
    )
    told = words(worksheet_text(replace(sample_plan(), slots=(replace(slot, jobs=jobs),))))
    assert "Worn left. Repack front wheel bearings, left. Worn right. Repack front wheel bearings, right." in told


def test_an_opening_of_one_side_names_it() -> None:
    """Otherwise the wrong wheel would come off."""
    slot = sample_plan().slots[1]
    steps = tuple(step for step in slot.opened if (step.position, step.state) != ("right", "hub off"))
    told = words(worksheet_text(replace(sample_plan(), slots=(replace(slot, opened=steps),))))
    assert "Left [ ] open [ ] closed again; right [ ] open [ ] closed again: wheel off, on stands" in told
    assert "left: caliper hung, free hub and hub off" in told


def test_what_stays_open_overnight_is_not_asked_to_be_closed() -> None:
    """Otherwise the same cover would be closed at night and opened in the morning for nothing."""
    slot = sample_plan().slots[0]
    steps = tuple(replace(step, kept_open=True) for step in slot.opened)
    plan = replace(sample_plan(), slots=(replace(slot, opened=steps),))
    assert "closed again" not in worksheet_text(plan) and "stays open overnight" in words(worksheet_text(plan))
    assert not [box for box in page(plan).xpath("//input") if "-close-" in box.get("id")]


def test_the_walk_round_takes_the_minutes_of_the_plan() -> None:
    """Otherwise the sheet would promise another time than the owner's own table says."""
    assert "walk round, about 20 minutes" in words(worksheet_text(outback()))
    own = replace(outback(), walkround_minutes=35.0)
    assert "walk round, about 35 minutes" in words(worksheet_text(own))
    assert "walk round, about 35 minutes" in words(worksheet_html(own))
    assert "about 20 minutes" not in words(worksheet_html(own))
    assert not re.search(r"(?<!\d)0 min", worksheet_text(outback()))


MINUTES = re.compile(r"(?:(\d+) h)? ?(?:(\d+) min)?")


def minutes(text: str) -> int:
    """The minutes at the head of a text: 3 h 58 min of 4 h are 238."""
    hours, rest = MINUTES.match(text).groups()  # type: ignore[union-attr]
    return 60 * int(hours or 0) + int(rest or 0)


def test_the_times_of_a_day_add_up_to_the_day() -> None:
    """Otherwise a page of 3 h 58 min would hold groups of 3 h 48 min, and nobody could say where the rest goes."""
    seen = 0
    for told in worksheet_text(outback()).split("The work, in order")[1].split("\n---"):
        head = re.search(r"^(\d.* of .+?), (\d.*) of it to set out and clear up\.$", told, re.MULTILINE)
        if head is None:
            continue
        places = re.findall(r"^[A-Z][^!\[\n]*(?:\n[^\[\n!]+)?: ((?:\d+ h ?)?(?:\d+ min)?)$", told, re.MULTILINE)
        parts = [*places, *re.findall(r"^\[ \] Look again: .*?, (\d+ min)\.", told, re.MULTILINE)]
        seen += 1
        assert abs(minutes(head[1]) - minutes(head[2]) - sum(map(minutes, parts))) <= len(parts), told
    assert seen > 5


def test_every_form_names_what_setting_out_takes() -> None:
    """Otherwise only one of the two sheets would add up, and a day without work would seem to begin with tools."""
    given = sample_plan()
    first, *others = given.slots
    told = replace(
        given, slots=(replace(first, set_out_minutes=15.0), *(replace(o, set_out_minutes=0.0) for o in others))
    )
    assert worksheet_text(told).count(", 15 min of it to set out and clear up.") == 1
    bare = replace(
        told, slots=(replace(told.slots[0], jobs=tuple(replace(j, materials=()) for j in first.jobs)), *others)
    )
    for one in (told, bare):
        assert words(page(one).text_content()).count("Set out and clear up 15 min.") == 1


def test_the_walk_round_of_a_day_points_to_where_its_looks_are_told() -> None:
    """Otherwise a reader would be sent to a list of bare names, or to paper that was not printed."""
    sheet = page(outback())
    (told,) = sheet.xpath("//p[contains(., 'How, and what to look for')]")
    (link,) = told.xpath("./a")
    (heading,) = sheet.xpath(f"//h3[@id='{link.get('href')[1:]}']")
    assert heading.text_content() == link.text_content()
    assert heading.xpath("ancestor::div[@class='behind']") and "behind the sheet, printed if asked for" in words(
        told.text_content()
    )
    for name, signs in looks(outback()):
        assert name in words(heading.getparent().text_content()) and signs


def test_a_grease_note_keeps_the_need_and_what_several_share_names_them() -> None:
    """Otherwise a mechanic would look up a note that is not there, or not see which grease."""
    plan = outback()
    notes = grease_notes(plan)
    numbers = {str(note.number) for note in notes.notes}
    assert notes.shared
    for title, text in notes.shared:
        named = re.findall(r"\d+", title)
        assert len(named) >= 3 and set(named) <= numbers and text
    for job in all_jobs(plan):
        if job.fillings:
            note = notes.notes[int(notes.reference(job).split()[1]) - 1]
            assert job.fillings[0].needs.lower() in note.text.lower()


@pytest.mark.parametrize("form", [0, 1])
def test_a_crossing_is_never_called_safe(form: int) -> None:
    """Otherwise the sheet would talk the owner into the water."""
    told = both()[form]
    assert CROSSING_NOTE in told
    assert not re.search(r"\b(safe|safely|passable|drivable|shallow enough|no problem)\b", told, re.IGNORECASE)


def test_water_acts_by_window_most_pressing_first() -> None:
    """Otherwise what must be done at the bank would be found at the next town."""
    acts = sample_plan().crossings[0].acts
    windows = [window for window, _ in by_window(reversed(acts))]
    assert windows == [
        "at the bank",
        "same night",
        "within 3 days or 500 km",
        "before the next remote leg",
        "later",
    ]


def test_an_act_is_told_once_with_a_box_for_every_crossing() -> None:
    """Otherwise the second crossing of a day would have no tick of its own at the bank."""
    plan = sample_plan()
    deep = plan.crossings[0]
    twice = replace(plan, crossings=(deep, replace(deep, at_km=200.0, trip_km=930.0)))
    bank = windows(twice)[0]
    assert [call.crossings for call in bank.calls] == [("leg 3, km 142", "leg 3, km 200")]
    made = replace(deep, crossed=deep.date)
    twice = replace(plan, crossings=(made, replace(made, at_km=200.0, trip_km=930.0)))
    on_the_road, behind = words(worksheet_text(twice)).split("Behind the sheet")
    assert on_the_road.count("Dry front brakes") == behind.count("Dry front brakes") == 1
    labels = [words(label.text_content()) for label in page(twice).xpath("//label")]
    assert "Dry front brakes, leg 3, km 142" in labels and "Dry front brakes, leg 3, km 200" in labels


def test_materials_of_a_day_are_added_up() -> None:
    """Otherwise the mechanic would lay out grease for one side only."""
    slot = sample_plan().slots[1]
    grease = Material(what="grease", name="wheel bearing grease", quantity=80, measure="g", grade="DIN 51825 K 2")
    jobs = [replace(job, materials=(grease,)) for job in slot.jobs[:2]]
    assert to_lay_out(jobs) == ("about 160 g of wheel bearing grease",)
    assert grades(jobs) == (("wheel bearing grease", "DIN 51825 K 2"),)


def test_nothing_is_collapsed_and_nothing_is_fetched(tree: html.HtmlElement) -> None:
    """Otherwise a warning could stay folded away, or the sheet fail without a network."""
    assert not tree.xpath("//details | //script | //link | //img | //iframe | //*[@hidden]")
    assert not re.search(r"(?:src|href)=[\"'](?!#)", worksheet_html(sample_plan()))
    assert not re.search(r"url\(|@import", worksheet_html(sample_plan()))


def test_a_trip_without_positions_says_in_one_line_why_it_has_no_map(tree: html.HtmlElement) -> None:
    """Otherwise the owner would not know that there could be one, or look at an empty frame."""
    told = [words(node.text_content()) for node in tree.xpath("//p[starts-with(., 'No map')]")]
    assert len(told) == 1 and "from_lat to to_lon" in told[0]
    assert not tree.xpath("//*[@id='map'] | //*[starts-with(@id, 'route-map')]")
    assert tree.xpath("//section[@aria-labelledby='wear']//*[local-name()='title']")


def test_a_trip_with_positions_has_its_map_in_both_forms(tmp_path: Path) -> None:
    """Otherwise the map would be a file beside the sheet, which is not printed and not carried."""
    text = worksheet_html(plan_on_map(), places_in(map_folder(tmp_path)))
    made = html.document_fromstring(text)
    for form in ("wide", "narrow"):
        (figure,) = made.xpath(f"//section[@aria-labelledby='map']//div[@class='{form}']")
        assert "Red Pan" in figure.text_content() and "w1" in figure.text_content()
    names = made.xpath("//@id")
    assert len(names) == len(set(names))
    assert not re.search(r"url\((?!#)|@import", text)
    assert not made.xpath("//p[starts-with(., 'No map') or starts-with(., 'Not on the map')]")


def test_legs_that_are_not_on_the_map_are_named(tmp_path: Path) -> None:
    """Otherwise a map of half the trip would be taken for the whole of it."""
    places = places_in(map_folder(tmp_path))
    some = replace(places, lines={number: line for number, line in places.lines.items() if number != 2})
    told = words(html.document_fromstring(worksheet_html(plan_on_map(), some)).text_content())
    assert "Not on the map: leg 2;" in told


def test_only_the_cost_of_moving_a_job_is_folded_away() -> None:
    """Otherwise a caution or a warning could stay folded away on the track."""
    plan = sample_plan()
    slots = tuple(
        replace(slot, jobs=tuple(replace(job, moves="Later: 8 dearer.") for job in slot.jobs)) for slot in plan.slots
    )
    folded = page(replace(plan, slots=slots)).xpath("//details")
    at_stops = sum(len(slot.jobs) for slot in slots if slot.kind == "stop")
    assert len(folded) == at_stops > 0
    for node in folded:
        assert not node.xpath(".//input | .//label")
        summary = node.find("summary").text_content()
        assert words(node.text_content()).removeprefix(words(summary)).strip() == "Later: 8 dearer."
    assert "8 dearer" not in worksheet_text(replace(plan, slots=slots))


def test_page_says_its_structure(tree: html.HtmlElement) -> None:
    """Otherwise a screen reader could not walk the sheet (WCAG 2.2: 1.3.1, 2.4.2, 3.1.1, from memory)."""
    assert tree.get("lang") == "en"
    assert "Käferbach" in tree.findtext(".//title")
    assert len(tree.xpath("//main")) == 1
    levels = [int(node.tag[1]) for node in tree.xpath("//h1 | //h2 | //h3 | //h4")]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    ids = tree.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_every_tick_box_has_a_label(tree: html.HtmlElement) -> None:
    """Otherwise a tick could not be told apart from its neighbour."""
    boxes = tree.xpath("//input")
    labels = {label.get("for"): words(label.text_content()) for label in tree.xpath("//label")}
    assert len(boxes) > 30
    assert all(box.get("type") == "checkbox" and labels.get(box.get("id")) for box in boxes)


def test_hostile_text_stays_text() -> None:
    """Otherwise a note in somebody's history could run in the owner's browser."""
    plan = sample_plan()
    bad = '</style><script>alert(1)</script>"\x00'
    job = replace(plan.slots[0].jobs[0], name=bad, why=bad, cautions=(bad,), early_signs=bad)
    hostile = replace(
        plan, trip=bad, rig=bad, warnings=(PlanWarning(kind="no place in time", text=bad),), walkround=(bad,), assumptions=(bad,), product_rule=bad,
        slots=(replace(plan.slots[0], jobs=(job,), place=bad), *plan.slots[1:]),
        items=tuple(replace(item, name=bad) for item in plan.items),
        legs=tuple(replace(leg, from_=bad, to=bad) for leg in plan.legs),
    )  # fmt: skip
    text = worksheet_html(hostile)
    assert "<script" not in text and "\x00" not in text and text.count("</style>") == 1


def test_text_sheet_fits_78_columns_of_plain_marks() -> None:
    """Otherwise the sheet would break on a small screen or be read aloud as noise."""
    for plan in (sample_plan(), many_items(60)):
        lines = worksheet_text(plan).splitlines()
        assert max(map(len, lines)) <= 78
        assert not any("\u2500" <= mark <= "\u257f" for line in lines for mark in line)
    assert worksheet_text(sample_plan()).count("[ ]") > 30


def test_a_plan_with_nothing_in_it_still_gives_a_sheet() -> None:
    """Otherwise an owner with an empty history would get a failure instead of a plan."""
    empty = replace(
        sample_plan(), legs=(), items=(), slots=(), crossings=(), rechecks=(), walkround=(), shopping=(),
        carry=(), orders=(), warnings=(), ways_out=(), problems=(), assumptions=(),
    )  # fmt: skip
    told = words(page(empty).text_content())
    assert "No warnings" in told and "No warnings" in worksheet_text(empty)
    assert terminal_summary(empty)


def test_groups_keep_openings_that_have_no_job() -> None:
    """Otherwise minutes would be counted for an opening nobody is told of."""
    slot = replace(sample_plan().slots[1], jobs=())
    assert [len(group.opened) for group in groups(slot)] == [2, 2]
    assert sum(group.minutes for group in groups(slot)) == sum(step.minutes for step in slot.opened)


def test_group_minutes_add_up_to_the_slot() -> None:
    """Otherwise the sheet would promise a shorter day than planned."""
    slot = sample_plan().slots[0]
    assert sum(group.minutes for group in groups(slot)) == sum(part.minutes for part in (*slot.jobs, *slot.opened))


def job_at(item: str, place: str, state: str, **changes: object) -> Job:
    """A job of half an hour at a place of the wagon, as deep as that state."""
    template = sample_plan().slots[0].jobs[0]
    return replace(template, item=item, name=item, unit="wagon", position=None, place=place, state=state, kind="service",
                   minutes=30.0, **changes)  # fmt: skip


def step_at(place: str, state: str, parent: str | None = None) -> Opened:
    """A step of five minutes at a place of the wagon."""
    return Opened(
        unit="wagon", place=place, position=None, state=state, minutes=5.0, words=f"{state} now", parent=parent
    )


def test_what_needs_nothing_open_does_not_stand_under_what_another_job_opens() -> None:
    """Otherwise a winch rope would be run out to look at the age of a tyre, and its minutes be those of the tyres too."""
    day = replace(
        sample_plan().slots[0], opened=(step_at("outside", "rope unwound"),),
        jobs=(job_at("tyre age", "outside", "closed"), job_at("winch", "outside", "rope unwound")),
    )  # fmt: skip
    told = {part.title: [block.jobs[0].item for block in part.blocks] for part in sections(day, 20.0)}
    assert told == {ROUND: ["tyre age"], "wagon, outside": ["winch"]}
    assert [(part.minutes, len(part.openings)) for part in sections(day, 20.0)] == [(30.0, 0), (35.0, 1)]
    assert [(part.title, part.opened, len(part.acts)) for part in phone_parts(day)] == [
        ("wagon, outside, nothing opened", (), 1), ("wagon, outside", ("rope unwound now",), 1),
    ]  # fmt: skip
    read = csv.DictReader(io.StringIO(tasks_csv(replace(sample_plan(), slots=(day,)))))
    assert {row["item"]: row["opened"] for row in read} == {"tyre age": "", "winch": "rope unwound now"}


def test_a_look_at_the_work_and_what_is_done_below_a_raised_rig_stay_where_it_is_open() -> None:
    """Otherwise play would be measured before the bearing is packed, and somebody crawl below before it is raised."""
    day = replace(
        sample_plan().slots[0], opened=(step_at("front wheel end", "hub off"), step_at("underbody", "raised")),
        jobs=(
            job_at("bearing", "front wheel end", "hub off"), job_at("hub lock", "front wheel end", "closed"),
            job_at("mounts", "underbody", "raised"), job_at("joints", "underbody", "closed"),
            replace(job_at("play", "front wheel end", "closed", at_work=True), kind="re-check"),
        ),
    )  # fmt: skip
    told = {part.title: [block.jobs[0].item for block in part.blocks] for part in sections(day, 20.0)}
    assert told == {
        ROUND: ["hub lock"], "wagon, front wheel end": ["bearing", "play"], "wagon, underbody": ["mounts", "joints"],
    }  # fmt: skip


def test_a_job_is_opened_as_far_as_it_goes_itself() -> None:
    """Otherwise the table would have a hub taken off to renew linings, because the bearings are packed the same day."""
    steps = (
        step_at("rear wheel end", "drum off"), step_at("rear wheel end", "hub off", "drum off"),
        replace(step_at("underbody", "guard off"), shared_by=("gearbox sump",)),
        step_at("gearbox sump", "drained", "guard off"),
    )  # fmt: skip
    jobs = (
        job_at("linings", "rear wheel end", "drum off"), job_at("bearings", "rear wheel end", "hub off"),
        job_at("oil", "gearbox sump", "drained"), job_at("nuts", "rear wheel end", "closed"),
    )  # fmt: skip
    found = groups(replace(sample_plan().slots[0], opened=steps, jobs=jobs))
    told = {job.item: [step.state for step in group.opened_for(job)] for group in found for job in group.jobs}
    assert told == {
        "linings": ["drum off"], "bearings": ["drum off", "hub off"], "oil": ["guard off", "drained"], "nuts": [],
    }  # fmt: skip


def test_summary_fits_80_columns_and_names_what_is_due() -> None:
    """Otherwise the owner would miss at the terminal what must be done before departure."""
    plan = sample_plan()
    told = terminal_summary(plan)
    assert max(map(len, told.splitlines())) <= 80
    for item in plan.items:
        if item.verdict == DUE:
            assert item.name in told
    for warning in (told.text for told in plan.warnings):
        assert warning in words(told)
    assert "Not met" not in told


def test_summary_of_a_long_plan_fits_a_tall_window() -> None:
    """Otherwise the first warnings would have scrolled away when the plan is made."""
    lines = terminal_summary(outback(), [Path("outputs/worksheet.html")]).splitlines()
    assert len(lines) <= 72 and max(map(len, lines)) <= 80


def rank(told: list[tuple[str, str]], names: tuple[str, ...]) -> list[int]:
    """The places of the named texts in the order of the hands."""
    return [names.index(name) for name, text in told if name in names and text]


def test_paper_page_and_phone_tell_a_job_in_the_order_of_the_hands() -> None:
    """Otherwise the grease would be named after the hub is open, or the step be read before its caution."""
    plan, notes = outback(), grease_notes(outback())
    order = ("Take care", "Use", "Use, each side", "Grease", "In it", "How", "Look for", "After water", "Why")
    seen = []
    for slot in plan.slots:
        parts = sections(slot, 20.0)
        for part in (part for part in sections(slot, 20.0) if not part.is_walk_round):
            for block in part.blocks:
                seen.append(rank(list(day_words(plan, slot, part, block, day_cautions(parts), notes)), order))
                seen.append(rank(list(details(plan, slot, part, block, "", notes)), order))
        seen += [rank(list(act.told), order) for place in phone_parts(slot) for act in place.acts]
    assert seen == [sorted(places) for places in seen]
    assert max(map(len, seen)) >= 4


def test_a_look_that_earlier_work_asks_for_does_not_stand_in_the_walk_round_too() -> None:
    """Otherwise the same dipstick would have two boxes at one place, and one of them would stay empty."""
    slot = next(slot for slot in outback().slots if slot.jobs)
    level = replace(slot.jobs[0], item="engine_oil_level", name="Engine oil level", unit="wagon", position=None,
                    kind="walk-round", state="closed", minutes=0.0)  # fmt: skip
    other = replace(level, item="lamps", name="Lamps, wipers, horn")
    again = replace(level, kind="re-check", minutes=2.0)
    day = replace(slot, jobs=(*slot.jobs, level, other, again))
    told = [block.jobs[0] for part in sections(day, 20.0) for block in part.blocks]
    phone = [act.job for part in phone_parts(day) for act in part.acts]
    for jobs in (told, phone):
        assert [job.kind for job in jobs if job.item == "engine_oil_level"] == ["re-check"]
        assert [job.kind for job in jobs if job.item == "lamps"] == ["walk-round"]


def test_wheel_nuts_come_last_where_a_wheel_is_off_the_same_day() -> None:
    """Otherwise they would be brought to their figure in the morning, and the wheels come off at noon."""
    slot = next(slot for slot in outback().slots if any("wheel end" in step.place for step in slot.opened))
    unit = next(step.unit for step in slot.opened if "wheel end" in step.place)
    nuts = replace(slot.jobs[0], item="wheel_nuts", name="Wheel nuts", act="torque", unit=unit, position=None, place="outside",
                   state="closed", kind="service", fillings=())  # fmt: skip
    day = replace(slot, jobs=(nuts, *(job for job in slot.jobs if job.item != "wheel_nuts")))
    paper = [block.jobs[0] for part in sections(day, 20.0) if not part.is_walk_round for block in part.blocks]
    phone = [act.job for part in phone_parts(day) for act in part.acts if act.job.kind != "walk-round"]
    assert paper[-1].item == phone[-1].item == "wheel_nuts"
    calm = replace(day, opened=())
    assert [block.jobs[0].item for block in sections(calm, 20.0)[0].blocks].count("wheel_nuts") == 1


def test_on_the_way_nothing_is_due_before_departure() -> None:
    """If it were, a plan made at a camp would send the reader back to a day that is gone."""
    before = sample_plan()
    due = next(item for item in before.items if item.verdict == DUE)
    on_the_way = replace(before, today=before.depart + timedelta(days=1), warnings=())
    home_again = replace(before, today=before.return_ + timedelta(days=1))
    assert (before.is_under_way, on_the_way.is_under_way, home_again.is_under_way) == (False, True, False)
    assert not replace(before, today=before.depart).is_under_way
    assert [verdict_words(plan, due) for plan in (before, on_the_way, home_again)] == [DUE, "due now", "due"]
    for told in (words(worksheet_text(on_the_way)), words(terminal_summary(on_the_way))):
        assert "due now" in told.lower() and "due before departure" not in told.lower()


def test_a_box_in_text_is_never_broken() -> None:
    """If it were, half a box would end a line, and a day would stand without one."""
    lines = wrap(" ".join(f"[ ] {day} September" for day in range(1, 30)))
    assert len(lines) > 4 and sum(line.count("[ ] ") for line in lines) == 29
    assert all(len(line) <= COLUMNS and not line.endswith(("[", "[ ]")) for line in lines)
    assert not [line for line in worksheet_text(sample_plan()).splitlines() if line.rstrip().endswith(("[", "[ ]"))]


def test_looks_of_every_morning_are_counted_beside_what_runs_out() -> None:
    """If they were listed, what needs a day of its own would drown among levels and lamps."""
    plan = sample_plan()
    (first, *_) = on_the_way(plan)
    look = replace(first, item="lamps", name="Lamps", rhythm=WALK_ROUND)
    told = words(terminal_summary(replace(plan, items=(*plan.items, look))))
    assert "1 look of the walk-round runs out too, and is made every morning." in told
    assert "Lamps" not in told.partition("Runs out without work")[2] and first.name in told
    assert "walk-round run out too" not in words(terminal_summary(plan))
