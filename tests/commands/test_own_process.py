"""How the process of a command is set up: for itself alone, and never against what its user set."""

import gc
import os
import platform
import subprocess
import sys

import pytest

from tripplan.commands.own_process import KEPT, SETTINGS, all_loaded, runs_long, soon_over


def test_a_command_leaves_no_trace_in_what_called_it() -> None:
    """A notebook that runs a command would fill its memory from then on."""
    with soon_over():
        assert not gc.isenabled()
    assert gc.isenabled()


def test_what_a_command_made_is_not_searched_at_once_when_it_ends() -> None:
    """A twentieth of a command's time would go into it, just before all of it is thrown away."""
    collected = [generation["collections"] for generation in gc.get_stats()]
    with soon_over():
        made = [[number] for number in range(100_000)]
    assert gc.get_count()[0] < gc.get_threshold()[0] and len(made) == 100_000
    assert [generation["collections"] for generation in gc.get_stats()] == collected


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


def _pages_asked_for(**settings: str) -> int:
    """The pages that the system hands out while memory is given back and asked for, over and over."""
    lines = (
        "import resource", "from tripplan.commands.own_process import soon_over",
        "def pages(): return resource.getrusage(resource.RUSAGE_SELF).ru_minflt", "with soon_over():", "    before = pages()",
        "    for _ in range(50): [bytearray(100_000) for _ in range(50)]", "    print(pages() - before)",
    )  # fmt: skip
    inherited = {name: value for name, value in os.environ.items() if name != KEPT}
    told = subprocess.run(
        [sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True, env=inherited | settings
    )
    return int(told.stdout)


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="another C library has another switch, or none")
def test_memory_given_back_is_kept_unless_the_environment_says_otherwise() -> None:
    """A twelfth of a command's time went into asking the system for the same pages again."""
    assert 10 * _pages_asked_for() < _pages_asked_for(**{KEPT: "0"})


def test_nothing_is_searched_when_a_command_ends() -> None:
    """A tenth of a command's time would go into tidying up what is thrown away whole."""
    lines = (
        "import atexit, gc", "atexit.register(lambda: print(gc.get_freeze_count() > 0))",
        "from tripplan.commands.own_process import soon_over", "with soon_over(): pass", "print(gc.get_freeze_count() > 0)",
    )  # fmt: skip
    told = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["False", "True"]


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
