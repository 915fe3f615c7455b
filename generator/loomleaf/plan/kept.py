"""What is worked out once for content that many jobs share: tables of the reference, the tails of a lead."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

K = TypeVar("K")
T = TypeVar("T")

REFERENCES = 4  # a program has one shop open, a test a few
FILES = 1000  # leads and vehicles of a shop


def kept(most: int) -> Callable[[Callable[[K], T]], Callable[[K], T]]:
    """Makes a function of one thing that never changes work each thing out once; the ``most`` latest answers are kept.

    Things are told apart by identity: to compare or hash a whole reference would take longer than to work it out.

    >>> calls = []
    >>> length = kept(4)(lambda thing: calls.append(1) or len(thing))
    >>> words = ["plug", "way"]
    >>> length(words), length(words), len(calls)
    (2, 2, 1)
    """

    def keeping(make: Callable[[K], T]) -> Callable[[K], T]:
        known: dict[int, tuple[K, T]] = {}  # the thing is held as well, so that no other gets its number

        @wraps(make)
        def of(thing: K) -> T:
            found = known.get(id(thing))
            if found is None:
                found = known[id(thing)] = (thing, make(thing))
                if len(known) > most:
                    del known[next(iter(known))]
            return found[1]

        return of

    return keeping
