"""Sunrise and sunset on the clock of the place, and whether a leg ends after dark."""

from datetime import UTC, date, datetime, timedelta, tzinfo

from msgspec import Struct

from tripplan.records.facts_in import Leg

HORIZON_DEG = -0.833


class SunTimes(Struct, frozen=True, kw_only=True):
    """Sunrise and sunset of one calendar day at one place, on its own clock.

    One that does not happen that day is None; `stays` then says where the sun is: up or down.
    """

    sunrise: datetime | None
    sunset: datetime | None
    stays: str | None


def sun_times(day: date, lat: float, lon: float, zone: tzinfo) -> SunTimes:
    """The sun's rising and setting on this calendar day of the place's own clock.

    The events of three days in UTC are worked out and those kept whose local date is the
    day: asked for one day in UTC, east of Greenwich the sunrise found would be the next one.
    """
    rises = _event("sunrise", day, lat, lon, zone)
    sets = _event("sunset", day, lat, lon, zone)
    stays = None
    if rises is None and sets is None:
        stays = _where_at_noon(day, lat, lon)
    return SunTimes(sunrise=rises, sunset=sets, stays=stays)


def arrives_after_dark(leg: Leg, zone: tzinfo) -> str | None:
    """A sentence when the leg would end before sunrise or after sunset; None when it would not.

    `depart` is read on the clock of `zone`, that of the arrival. The speed is the moving
    average, so halts make it later still. Nothing is said without a time of departure or a
    position of the end.
    """
    if not isinstance(leg.depart, datetime) or leg.to_lat is None or leg.to_lon is None:
        return None
    start = leg.depart.replace(tzinfo=zone).astimezone(UTC)
    arrive = (start + timedelta(hours=leg.distance_km / leg.speed_kmh)).astimezone(zone)
    sun = sun_times(arrive.date(), leg.to_lat, leg.to_lon, zone)
    told = _dark(arrive, sun)
    if told is None:
        return None
    return (
        f"Leg {leg.leg} would reach {leg.to} about {arrive:%H:%M} without halts, {told}; "
        "leave earlier or break the leg."
    )


def _dark(arrive: datetime, sun: SunTimes) -> str | None:
    if sun.stays == "down":
        return "where the sun does not rise that day"
    if sun.sunset is not None and arrive > sun.sunset and not (sun.sunrise and sun.sunset < sun.sunrise < arrive):
        return f"after sunset at {sun.sunset:%H:%M}"
    if sun.sunrise is not None and arrive < sun.sunrise and not (sun.sunset and arrive < sun.sunset < sun.sunrise):
        return f"before sunrise at {sun.sunrise:%H:%M}"
    return None


def _event(which: str, day: date, lat: float, lon: float, zone: tzinfo) -> datetime | None:
    from astral import Observer, sun

    observer = Observer(lat, lon)
    for offset in (-1, 0, 1):
        try:
            found: datetime = getattr(sun, which)(observer, date=day + timedelta(days=offset), tzinfo=UTC)
        except ValueError:
            continue
        if found.astimezone(zone).date() == day:
            return found.astimezone(zone)
    return None


def _where_at_noon(day: date, lat: float, lon: float) -> str:
    from astral import Observer, sun

    noon = sun.noon(Observer(lat, lon), date=day, tzinfo=UTC)
    return "up" if sun.elevation(Observer(lat, lon), noon, with_refraction=False) > HORIZON_DEG else "down"
