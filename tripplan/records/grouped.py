"""What is alike put together, for every room that joins left and right, or lists things by place."""

from collections.abc import Iterable
from typing import TypeVar

Key = TypeVar("Key")
Thing = TypeVar("Thing")


def grouped(pairs: Iterable[tuple[Key, Thing]]) -> dict[Key, list[Thing]]:
    """Things by their key, keys and things in the order in which they come."""
    found: dict[Key, list[Thing]] = {}
    for key, thing in pairs:
        found.setdefault(key, []).append(thing)
    return found
