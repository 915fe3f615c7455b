"""What the shop's own files say twice, and meters whose day has passed."""

from __future__ import annotations

import pytest

from tests.plan.shops import SHOP, STOCK, shop


def told(code: str, **words: object) -> list[tuple[str, str]]:
    return [(p.location.file, p.message) for p in shop(**words)[1] if p.code == code]  # type: ignore[arg-type]


def test_two_prices_of_one_part_are_told_and_which_counts() -> None:
    assert told("price-differs") == [
        ("stock.yaml", "'radio' costs 80.00 here and 100.00 in leads/radio.yaml: that one counts")
    ]


@pytest.mark.parametrize("price", ['price: "100.00", ', 'price: "100", ', ""])
def test_the_same_price_twice_or_once_is_nothing(price: str) -> None:
    assert told("price-differs", stock=STOCK.replace('price: "80.00", ', price)) == []


@pytest.mark.parametrize(
    ("due", "jobs"), [("2026-05-11", ["1"]), ("2026-05-12", []), ("2027-01-01", []), ('""', []), ("in spring", [])]
)
def test_a_meter_is_overdue_from_the_day_after(due: str, jobs: list[str]) -> None:
    """The job's sheets are of 2026-05-12."""
    problems = shop(shop_more=f"instruments: [{{name: M1, due: {due}}}]\n")[1]
    found = [p for p in problems if p.code == "calibration-overdue"]
    assert [p.job for p in found] == jobs
    line = (SHOP + "x").count("\n") + 1
    assert all((p.location.file, p.location.line) == ("shop.yaml", line) for p in found)
