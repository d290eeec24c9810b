"""How the process of a command is set up: for itself alone, and never against what its user set."""

import gc
import os

import pytest

from tripplan.commands.own_process import SETTINGS, all_loaded, runs_long, soon_over


def test_a_command_leaves_no_trace_in_what_called_it() -> None:
    """A notebook that runs a command would fill its memory from then on."""
    with soon_over():
        assert not gc.isenabled()
    assert gc.isenabled()


def test_what_runs_long_is_tidied_up() -> None:
    """A page that is served for weeks would take all the memory there is."""
    with soon_over():
        runs_long()
        assert gc.isenabled()


def test_what_the_environment_says_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever gives more threads would wonder why they idle."""
    for name in SETTINGS:
        monkeypatch.setenv(name, "2")
    with soon_over():
        assert all(os.environ[name] == "2" for name in SETTINGS)


def test_what_is_loaded_is_searched_once() -> None:
    """Over many rigs a twentieth of the time would go into searching modules for what is no longer needed."""
    before = gc.get_freeze_count()
    all_loaded.cache_clear()
    try:
        all_loaded()
        frozen = gc.get_freeze_count()
        all_loaded()
        assert frozen > before + 10_000 and gc.get_freeze_count() == frozen and gc.isenabled()
    finally:
        gc.unfreeze()
