"""The same work for many names on several processes. Results come in the order of the names, whatever the count.

Processes are forked when everything is loaded and warm, so that nothing is loaded twice; what is loaded is set aside from
garbage collection first, so that it stays shared between them. They die with the program that started them.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from typing import Any, TypeVar

T = TypeVar("T")

_PR_SET_PDEATHSIG = 1
_work: Callable[[str], Any] | None = None  # what a forked process does; it inherits it, so nothing has to be pickled


class WorkerLostError(Exception):
    """A process ended before its work was done: killed, or out of memory."""


def processors() -> int:
    """How many processors this program may use."""
    try:
        return len(os.sched_getaffinity(0))
    except (AttributeError, OSError):
        return os.cpu_count() or 1


def spread(
    work: Callable[[str], T],
    names: Sequence[str],
    processes: int,
    *,
    chunk: int = 1,
    alike: Callable[[str], object] | None = None,
    renewed_after: int | None = None,
) -> Iterator[T]:
    """``work`` done for each name, ``chunk`` names at a time; in this process when more would not pay.

    Names that follow one another and of which ``alike`` says the same stay in one process, so that it can use again what
    it worked out for the first of them. A process that has done about ``renewed_after`` names is replaced by a fresh one,
    where the work leaves something behind in memory.
    """
    many = renewed_after is not None and len(names) > renewed_after
    if len(names) <= chunk or (processes < 2 and not many):
        for name in names:
            yield work(name)
        return
    each = renewed_after * processes if renewed_after else len(names)
    gc.collect()
    gc.freeze()  # once for all of them: with many jobs in memory a look through it takes a second
    try:
        for start in range(0, len(names), each):
            yield from _on_a_pool(work, _pieces(names[start : start + each], chunk, alike), processes)
    finally:
        gc.unfreeze()


def _on_a_pool(work: Callable[[str], T], pieces: Sequence[tuple[str, ...]], processes: int) -> Iterator[T]:
    global _work
    from concurrent.futures import Future, ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    _work = work
    pool = ProcessPoolExecutor(
        min(processes, len(pieces)), mp_context=get_context("fork"), initializer=_begin, initargs=(os.getpid(),)
    )
    waiting: deque[Future[list[T]]] = deque()
    try:
        for piece in pieces:
            waiting.append(pool.submit(_do, piece))
            if len(waiting) > 3 * processes:  # results are handed on before more is asked for
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    except BrokenProcessPool as fault:
        raise WorkerLostError from fault
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        _work = None


def _pieces(names: Sequence[str], chunk: int, alike: Callable[[str], object] | None) -> list[tuple[str, ...]]:
    """Names in pieces of at least ``chunk`` (the last may be shorter)."""
    if alike is None:
        return [tuple(names[start : start + chunk]) for start in range(0, len(names), chunk)]
    pieces: list[list[str]] = [[]]
    for _, group in groupby(names, alike):
        if len(pieces[-1]) >= chunk:
            pieces.append([])
        pieces[-1] += group
    return [tuple(piece) for piece in pieces]


def _begin(parent: int) -> None:
    """In a new process: leave the keyboard to the parent, and end when it ends, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform.startswith("linux"):
        with contextlib.suppress(AttributeError, OSError):
            ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(1)


def _do(names: tuple[str, ...]) -> list[Any]:
    assert _work is not None
    return [_work(name) for name in names]
