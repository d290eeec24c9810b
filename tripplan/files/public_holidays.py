"""The public holidays at home, from the country and region that `rig.toml` names."""

from collections.abc import Iterable
from difflib import SequenceMatcher

from tripplan.records.facts_in import PublicHoliday, Rig
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem

MOST_NAMED = 8


def public_holidays(rig: Rig, years: Iterable[int]) -> tuple[tuple[PublicHoliday, ...], tuple[Problem, ...]]:
    """The public holidays of those years, none when no country is named, or what is wrong with the code."""
    if rig.country is None:
        if rig.region is None:
            return (), ()
        found, accepted = f"{rig.region}, and no country", "a region together with its country"
        return (), (problem("R19", rig.origin, "region", found, accepted),)
    import holidays  # many country modules: loaded only for a rig that names its country

    regions = holidays.list_supported_countries()
    country = rig.country.strip().upper()
    if country not in regions:
        return (), (problem("R18", rig.origin, "country", rig.country, _countries_like(rig.country)),)
    region = _region(rig.region, regions[country]) if rig.region else None
    try:
        dates = holidays.country_holidays(country, subdiv=region, years=sorted(set(years)))
    except NotImplementedError:
        accepted = _regions_like(rig.region or "", country, regions[country])
        return (), (problem("R19", rig.origin, "region", f"{rig.region}", accepted),)
    found_days = sorted(dates.items())
    return tuple(PublicHoliday(date=day, name=name, origin=rig.origin) for day, name in found_days), ()


def _region(typed: str, regions: Iterable[str]) -> str:
    """The code or name as the library writes it, whatever its capitals."""
    capitals = {code.upper(): code for code in regions}
    return capitals.get(typed.strip().upper(), typed.strip())


def _regions_like(found: str, country: str, regions: Iterable[str]) -> str:
    near = _nearest(found, {code: code for code in regions})
    return f"a region of {country} such as {near}" if near else f"none: {country} has one set of holidays"


def _countries_like(found: str) -> str:
    from holidays.registry import COUNTRIES

    listed = {name.replace("_", " "): entry[1] for name, entry in COUNTRIES.items()}
    names = {f"{code} ({name})": f"{code} {name}" for name, code in listed.items()}
    return f"a two-letter code such as {_nearest(found, names)}"


def _nearest(found: str, words: dict[str, str]) -> str:
    """The labels whose words are most like `found`, those first."""
    sought = found.strip().lower()
    score = {
        label: -max(SequenceMatcher(None, word, sought).ratio() for word in text.lower().split(" ", 1))
        for label, text in words.items()
    }
    return ", ".join(sorted(score, key=lambda label: (score[label], label))[:MOST_NAMED])
