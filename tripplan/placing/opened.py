"""What visits open, with the looks that follow where they fall."""

import numpy as np

from tripplan.placing.model import Flags, Floats, Model, Part


def opened_by(model: Model, own: Flags) -> Flags:
    """What is open in each plan (plans, openings, sites), with the looks that follow where they fall."""
    used = np.asarray((model.need.T.astype(np.float64) @ own.astype(np.float64)) > 0)
    with_looks(model, used)
    return used


def with_looks(model: Model, used: Flags) -> None:
    """Adds to what is open (plans, openings, sites) the looks that it brings."""
    looks = model.looks
    if len(looks.by):
        used[:, looks.what, looks.there] |= looks.made(used)


def asked_for(part: Part, seen: Floats) -> Flags:
    """Which openings (plans, openings, sites) the visits need themselves, looks that they bring left out."""
    return np.asarray(part.model.need[:, : part.asked].T.astype(np.float64) @ seen > 0)


def opened_and_looked(part: Part, seen: Floats) -> tuple[Flags, Flags]:
    """What is open of the asked openings (plans, openings, sites), and which looks (plans, places) whatever is open brings."""
    looks = part.model.looks
    used = asked_for(part, seen)
    if not len(looks.by):
        return used, np.zeros((len(seen), 0), dtype=bool)
    looked = looks.made(used)
    shared = looks.what < part.asked
    used[:, looks.what[shared], looks.there[shared]] |= looked[:, shared]
    return used, looked
