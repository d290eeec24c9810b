"""What to buy, as a person in a shop reads it: packs, pieces, days, and what it costs."""

from datetime import date
from typing import Any

from msgspec.structs import replace

from tests.sample_plan import sample_plan
from tripplan.records.plan import Need, Plan, Use
from tripplan.sheets.materials import told
from tripplan.sheets.worksheet.buying import carry_words, costs, errands, need_amount, need_name, to_buy
from tripplan.sheets.worksheet.html import worksheet_html
from tripplan.sheets.worksheet.lists import need_days
from tripplan.sheets.worksheet.text import worksheet_text

USE = (Use(act="repack", name="Rear wheel bearings", unit="wagon"),)


def need(what: str, name: str, quantity: float, unit: str, kind: str, **more: Any) -> Need:
    """Something that work before departure needs."""
    values: dict[str, Any] = {"when": "before departure", "uses": USE, **more}
    return Need(what=what, name=name, kind=kind, quantity=quantity, unit_of_measure=unit, **values)


GREASE = need("wheel_bearing_grease", "wheel bearing grease", 230, "g", "grease", containers=1, container_size=400,
              pack="cartridge", buy_by=date(2026, 6, 26))  # fmt: skip
SEAL = need("hub_seal", "hub inner seal", 2, "piece", "seal", order_by=date(2026, 6, 12))
RAG = need("rag", "rag", 9, "piece", "sundry")


def plan(*shopping: Need, carry: tuple[Need, ...] = (), **more: Any) -> Plan:
    """The sample with these lists."""
    return replace(sample_plan(), shopping=shopping, carry=carry, **more)


def test_a_pack_is_told_with_what_of_it_is_used() -> None:
    """If not, the list would ask a shop for 230 g of grease."""
    assert need_amount(GREASE) == "1 cartridge, 400 g; about 230 g will be used"
    assert to_buy([GREASE]) == "1 cartridge of wheel bearing grease, 400 g"
    assert carry_words(replace(GREASE, when="carry", quantity=450)) == "2 cartridges of wheel bearing grease"


def test_no_nicety_that_no_hand_has() -> None:
    """If not, a sheet would ask for 3 g of grease and 2 mL of thread lock."""
    assert told(3, "g", "terminal grease") == "a smear of terminal grease"
    assert told(2, "mL", "thread lock") == "a few drops of thread lock"
    assert told(93, "g", "chassis grease") == "about 95 g of chassis grease"
    assert told(1, "piece", "hub seal") == "1 hub seal" and told(4, "piece", "hub seal") == "4 hub seals"


def test_only_what_is_ordered_has_a_day_to_order_by() -> None:
    """If not, the sheet would say to order rags by the end of May."""
    found = errands(plan(GREASE, SEAL, RAG))
    assert [(one.title, one.things) for one in found] == [
        ("Order by Fri 12 June", ("2 hub inner seals",)),
        ("From a shop by Fri 26 June", ("1 cartridge of wheel bearing grease, 400 g", "about 9 rags")),
    ]


def test_a_thing_for_the_work_and_for_the_box_is_bought_in_one_line() -> None:
    """If not, the owner would buy a second cartridge for what the first still holds."""
    rest = replace(GREASE, when="carry", quantity=120, from_opened=120, containers=0)
    box = replace(SEAL, when="carry", quantity=3)
    found = [thing for one in errands(plan(GREASE, SEAL, carry=(rest, box))) for thing in one.things]
    assert found == ["5 hub inner seals", "1 cartridge of wheel bearing grease, 400 g"]


def test_costs_are_told_with_their_currency_and_only_where_a_price_is_given() -> None:
    """If not, a sum without a currency, or one of half the things, would be taken for the bill."""
    priced = replace(GREASE, price=12.5, cost=12.5)
    first, *others = sample_plan().slots
    slots = (replace(first, materials_cost=7.19, unpriced=1), *others)
    given = plan(priced, SEAL, slots=slots, currency="AUD")
    assert costs(given) == (
        "Materials used: 20 June 7 AUD. To buy in all, in whole packs: 12 AUD. 1 thing has no price."
    )
    assert costs(plan(GREASE, SEAL)) == ""
    for sheet in (worksheet_text(given), worksheet_html(given)):
        assert "12 AUD. 1 thing has no price." in " ".join(sheet.split())


def test_a_list_of_one_line_a_thing_says_what_it_is_for_how_much_and_by_when() -> None:
    """If not, the page would ask for 3 new parts by a day that is past, and for 50 of washing water."""
    worn = need("worn_part", "new part", 3, "piece", "part", order_by=date(2026, 6, 1))
    assert need_name(worn) == "new parts for rear wheel bearings, found bad" and need_name(SEAL) == "hub inner seal"
    assert need_days(worn, date(2026, 6, 2)) == need_days(worn, date(2026, 6, 1)) == "order today"
    assert need_days(worn, date(2026, 5, 31)) == "order by 1 June"
    assert need_days(GREASE, date(2026, 5, 31)) == "buy by 26 June" and need_days(RAG, date(2026, 5, 31)) == ""
    assert need_amount(need("washing_water", "washing water", 50, "L", "sundry")) == "50 L"
    assert need_amount(RAG) == "9"
