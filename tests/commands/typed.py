"""A command line typed in this process."""

import sys

import pytest

from tripplan import __main__ as cli


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """The exit status of one command line."""
    monkeypatch.setattr(sys, "argv", ["tripplan", *words])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    return int(stopped.value.code or 0)
