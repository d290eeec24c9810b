"""Which rows of `remedies.csv` a finding can have brought, and what ends it."""

from tripplan.records.mending import Remedy
from tripplan.verify.facts import Facts, Json, as_much, key_of


def remedies_at(facts: Facts, entry: Json) -> list[Remedy]:
    """The rows of `remedies.csv` for what was found at this entry: its own, else its family's where its act does not end it."""
    item = facts.catalogued[entry["item"]]
    told = [row for row in facts.catalogue.remedies if entry["found"] in row.found]
    own = [row for row in told if row.at == item.id and row.act]
    ends = any(rule.act == item.act and entry["found"] in (rule.puts_right or ()) for rule in facts.catalogue.acts)
    return own or [row for row in told if row.at == item.family and not ends]


def remedies_of(facts: Facts, job: Json) -> list[Remedy]:
    """Those rows for what a job may put right; none where nothing was found."""
    entry = facts.items.get(key_of(job), job)
    return remedies_at(facts, entry) if entry.get("found") else []


def seen_at(facts: Facts, entry: Json) -> set[str]:
    """The items at which that can have been seen: it, and those whose findings its job puts right."""
    sent = (row.at for row in facts.catalogue.remedies if entry["item"] in row.by and entry["found"] in row.found)
    return {entry["item"], *sent}


def ending_acts(facts: Facts, entry: Json) -> set[str]:
    """The acts that put what was found right: those of its remedies and greater ones, else those of `acts.csv`."""
    asked = {row.act or facts.catalogued[entry["item"]].act for row in remedies_at(facts, entry)}
    if not asked:
        return {rule.act for rule in facts.catalogue.acts if entry["found"] in (rule.puts_right or ())}
    return set().union(*(as_much(facts.catalogue, act) for act in asked))
