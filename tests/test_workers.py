"""Work on several processes: the same results in the same order, whatever the count."""

import gc
import os

import pytest

from loomleaf.workers import spread

NAMES = tuple(f"{number:03}" for number in range(23))


@pytest.fixture(autouse=True)
def no_looking_for_cycles(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each set of processes is begun with a look through all that is in memory, which here is that of all other tests."""
    monkeypatch.setattr(gc, "collect", lambda: 0)


def where(name: str) -> tuple[str, int]:
    return name, os.getpid()


@pytest.mark.parametrize("processes", [1, 2, 3])
@pytest.mark.parametrize("chunk", [1, 4, 50])
@pytest.mark.parametrize("renewed_after", [None, 5, 100])
def test_every_name_once_and_in_order(processes: int, chunk: int, renewed_after: int | None) -> None:
    done = list(spread(where, NAMES, processes, chunk=chunk, renewed_after=renewed_after))
    assert [name for name, _ in done] == list(NAMES)


def test_names_that_are_alike_stay_in_one_process() -> None:
    done = dict(spread(where, NAMES, 2, chunk=2, alike=lambda name: int(name) // 4))
    for first in range(0, len(NAMES), 4):
        assert len({done[name] for name in NAMES[first : first + 4]}) == 1


def test_a_process_is_replaced_when_it_has_done_its_share() -> None:
    done = list(spread(where, NAMES, 1, renewed_after=5))
    assert len({process for _, process in done}) == 5  # 5, 5, 5, 5 and 3 names
    assert os.getpid() not in {process for _, process in done}


def test_a_few_names_are_done_here() -> None:
    assert {process for _, process in spread(where, NAMES, 1, renewed_after=100)} == {os.getpid()}
    assert {process for _, process in spread(where, NAMES, 1)} == {os.getpid()}
