"""Money as Decimal, with one rounding rule: half away from zero at the currency's own number of decimals."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

from .units import UnitError

_MONEY = re.compile(r"[-−]?\d{1,9}(?:\.\d{1,4})?")


def parse_money(text: str, *, allow_negative: bool = False) -> Decimal:
    """Digits with a decimal point, no currency sign. Raises UnitError.

    >>> parse_money("12.50")
    Decimal('12.50')
    """
    bare = text.strip()
    if not _MONEY.fullmatch(bare):
        raise UnitError(f"'{text}' is not an amount of money", "digits with a point, for example 12.50")
    value = Decimal(bare.replace("−", "-"))
    if value < 0 and not allow_negative:
        raise UnitError(f"{text} is negative", "an amount is zero or more")
    return value


def rounded(value: Decimal, decimals: int = 2) -> Decimal:
    """Rounded once, half away from zero.

    >>> rounded(Decimal("2.675")), rounded(Decimal("-2.675"))
    (Decimal('2.68'), Decimal('-2.68'))
    """
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def shown(value: Decimal, currency: str, decimals: int = 2) -> str:
    """For paper: "1 234.50 EUR".

    >>> shown(Decimal("1234.5"), "EUR").replace(chr(0x202f), " ")
    '1 234.50 EUR'
    """
    text = f"{rounded(value, decimals):,.{decimals}f}".replace(",", "\u202f").replace("-", "−")
    return f"{text} {currency}"
