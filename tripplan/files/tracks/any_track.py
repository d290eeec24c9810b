"""Reading one track file of any of the three open forms: GPX, KML or GeoJSON.

What the file is, its first bytes say, never its name. A file that cannot give a track is
refused with a Problem; points that are no positions are left out and told.
"""

import re
from pathlib import Path

from tripplan.files.tracks.geojson import read_geojson
from tripplan.files.tracks.gpx import read_gpx
from tripplan.files.tracks.kml import read_kml
from tripplan.files.tracks.points import Oddities, Refused, refusal
from tripplan.files.way_in import NotRead, look_at
from tripplan.records.facts_in import Origin
from tripplan.records.problem_codes import problem
from tripplan.records.problems import Problem
from tripplan.records.track import Track

MOST_BYTES = 200_000_000
SNIFFED_BYTES = 65536
ACCEPTED = "a GPX, KML or GeoJSON file"
ROOT = re.compile(rb"<(?:[A-Za-z_][\w.-]*:)?(gpx|kml)[\s>/]", re.IGNORECASE)
READERS = {"gpx": read_gpx, "kml": read_kml, "geojson": read_geojson}
Read = tuple[Track | None, tuple[Problem, ...]]


def read_track(path: Path, name: str | None = None) -> Read:
    """The track of a file; `name` is what problems call it.

    A track that is given has at least one segment of two points, or two waypoints.
    """
    file = name or path.name
    odd = Oddities(file=file)
    try:
        track = READERS[_form(path, file)](path, file, odd)
        return _usable(track), odd.problems()
    except Refused as error:
        return None, (error.problem, *odd.problems())
    except NotRead as why:
        return None, (problem("F01" if why.is_absent else "F02", Origin(file=file), None, why.found, ACCEPTED),)
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or "a name or content that cannot be read"
        return None, (problem("F02", Origin(file=file), None, found, ACCEPTED),)


def _form(path: Path, file: str) -> str:
    size = look_at(path)
    if size > MOST_BYTES:
        raise refusal(file, "X03", f"a file of {size / 1e6:.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB",
                      "cut it into one file a day")  # fmt: skip
    with path.open("rb") as raw:
        head = raw.read(SNIFFED_BYTES).replace(b"\0", b"")
    if head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        return "geojson"
    if found := ROOT.search(head):
        return found.group(1).decode().lower()
    hint = "unpack it, and give the doc.kml inside" if head.startswith(b"PK") else ""
    raise refusal(file, "X01", "a file of another kind" if head.strip() else "an empty file", ACCEPTED, hint)


def _usable(track: Track) -> Track:
    """The track, its segments being of two points or more; nothing else is a way."""
    segments = tuple(segment for segment in track.segments if len(segment) > 1)
    if not segments and len(track.waypoints) < 2:
        found = "no line and fewer than two named waypoints"
        raise refusal(track.file, "X05", found, "a track, a route, or two waypoints, so that a way can be seen")
    return Track(file=track.file, kind=track.kind, segments=segments, waypoints=track.waypoints)
