"""What a job costs: every line traceable to joints, parts or extras, and lines that always add up to the total shown.

Each line is rounded once, to the currency's decimals, half away from zero; every sum is a sum of rounded lines. Discount
and tax are worked out once for each tax that the job has, on sums of rounded lines, and are lines of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Literal

from ..model.job import Agreement, Extra, Job
from ..model.lead import Lead
from ..model.shop import Shop, Stock
from ..money import parse_money, rounded, shown
from ..problems import Collector, Location, Problem, Severity
from ..units import UnitError
from .minutes import JobMinutes, Operation, spoken
from .picking import TOOL, Need, amount
from .types import Plan

LineKind = Literal["labour", "part", "material", "extra"]
PART_KINDS = frozenset({"fascia", "cage", "adapter", "relay"})
"""Kinds of stock that the customer knows as parts; the rest of the shelf is material."""
PART_ORDER = ("radio", "module", "accessory", "vehicle")


@dataclass(frozen=True, kw_only=True)
class PriceLine:
    """One line of an estimate. ``total`` is rounded; ``added`` and ``agreed_by`` are set for what came later.

    ``traces`` are joints, circuits, spares, checks, leads or extras it comes from. ``each`` is the unrounded price of one
    (of an hour, of a metre); ``tax`` names the tax it falls under.
    """

    kind: LineKind
    what: str
    quantity: str
    total: Decimal
    traces: tuple[str, ...] = ()
    added: date | None = None
    agreed_by: str = ""
    agreed_how: str = ""
    agreed_on: date | None = None
    each: Decimal = Decimal(0)
    tax: str = ""


@dataclass(frozen=True, kw_only=True)
class TaxLine:
    """One tax of the estimate: what it is on after discount, and how much. ``amount`` is in ``base`` when included.

    ``title`` is its name as it stands on paper.
    """

    name: str
    title: str
    percent: Decimal
    base: Decimal
    discount: Decimal
    amount: Decimal


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """Lines and sums, all rounded. ``tax_included`` says whether line totals already hold the tax.

    ``subtotal`` is the sum of the lines; ``gross`` is what the customer pays; ``net`` is it without tax and rounding;
    ``balance`` is what is left after the deposit. ``tax`` is the sum of ``taxes``; ``tax_name`` and ``tax_percent`` are the
    usual tax's. ``rounding`` is the step to the smallest coin.
    """

    lines: tuple[PriceLine, ...]
    labour: Decimal
    parts: Decimal
    materials: Decimal
    extras: Decimal
    subtotal: Decimal
    discount: Decimal
    net: Decimal
    tax_name: str
    tax_percent: Decimal
    tax: Decimal
    tax_included: bool
    gross: Decimal
    deposit: Decimal
    balance: Decimal
    valid_until: date
    notes: tuple[str, ...]
    taxes: tuple[TaxLine, ...] = ()
    rounding: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)

    @property
    def estimated(self) -> tuple[PriceLine, ...]:
        """The lines of the first estimate."""
        return tuple(line for line in self.lines if line.added is None)

    @property
    def added(self) -> tuple[PriceLine, ...]:
        """The lines that came later, by date."""
        later = [line for line in self.lines if line.added is not None]
        return tuple(sorted(later, key=lambda line: (line.added or date.min)))


@dataclass(frozen=True, kw_only=True)
class Authorised:
    """What the customer said yes to, apart from the estimate: each word with its amount, and the sum of the amounts.

    ``amount`` is None when no word names one, else the sum of ``amounts``. ``open`` are additions to which nobody has agreed
    yet.
    """

    agreements: tuple[Agreement, ...]
    amount: Decimal | None
    amounts: tuple[Decimal, ...]
    open: tuple[PriceLine, ...]


def estimate_for(plan: Plan, shop: Shop, stock: Stock, minutes: JobMinutes, needs: Sequence[Need]) -> Estimate:
    """Labour from the likely minutes, parts from their files, materials from the picking list, extras as written.

    Amounts and names in the files are taken as checked: ``money_is_readable`` and ``prices_name_known_taxes`` refuse a
    negative price or an unknown tax before anything gets here.
    """
    lines = _labour(minutes, shop)
    part_lines, notes = _parts(plan, shop, stock)
    lines += part_lines
    lines += _shelf(shop, stock, needs)
    lines += [_extra_line(extra, shop, index) for index, extra in enumerate(plan.job.extras) if extra.price]
    notes += [f"There are no standard minutes for {name}: it is not in the price" for name in minutes.missing]
    return add_up(
        tuple(lines),
        shop,
        discount_percent=Decimal(str(plan.job.discount_percent)),
        deposit=parse_money(plan.job.deposit) if plan.job.deposit else Decimal(0),
        issued=plan.job.issued,
        notes=tuple(notes),
    )


def rate_of(shop: Shop, name: str) -> Decimal:
    """Labour an hour: the named rate, or the usual one."""
    return parse_money(shop.rates.others[name] if name else shop.rates.labour_hour)


def tax_of(shop: Shop, kind: LineKind, own: str | None = None) -> str:
    """The name of the tax a line falls under: its own, that of its kind, or the usual one."""
    return own or shop.tax.uses.get(kind, "") or shop.tax.name


def tax_words(shop: Shop, name: str) -> str:
    """A tax's name as it stands on paper: the word of the usual tax keeps its capitals, hyphens are spaces.

    >>> tax_words(Shop(name="x", tax={"name": "VAT", "others": {"vat-on-print": "6"}}), "vat-on-print")
    'VAT on print'
    """
    if name == shop.tax.name:
        return name
    usual = shop.tax.name
    words = [usual if word.casefold() == usual.casefold() else word for word in name.split("-")]
    text = " ".join(words)
    return text[:1].upper() + text[1:]


def tax_percent(shop: Shop, name: str) -> Decimal:
    """A tax's percentage by its name. A name that shop.yaml does not know is refused long before: KeyError."""
    return parse_money(shop.tax.percent if name == shop.tax.name else shop.tax.others[name])


def _labour(minutes: JobMinutes, shop: Shop) -> list[PriceLine]:
    """One line a rate; the usual rate also carries the set-up. Extras with minutes and no price are labour too.

    Each line's time is in whole minutes, as it is printed: time and rate make the price for whoever multiplies them.
    """
    by_rate: dict[str, list[Operation]] = {"": []}
    for operation in minutes.operations:
        by_rate.setdefault(operation.rate, []).append(operation)
    lines = []
    for rate, operations in by_rate.items():
        took = sum((minutes.in_all(o) for o in operations), Decimal(0)) + (Decimal(0) if rate else minutes.set_up)
        took = rounded(took, 0)
        if not took:
            continue
        what = rate.replace("-", " ").capitalize() if rate else "Fitting"
        if minutes.vehicles > 1:
            what += f", {minutes.vehicles} vehicles"
        each = rate_of(shop, rate)
        lines.append(
            PriceLine(
                kind="labour",
                what=what,
                quantity=spoken(took, 1),
                total=rounded(took / 60 * each, shop.decimals),
                traces=tuple(dict.fromkeys(t for o in operations for t in o.traces)) or ("job",),
                each=each,
                tax=tax_of(shop, "labour"),
            )
        )
    return lines


def _parts(plan: Plan, shop: Shop, stock: Stock) -> tuple[list[PriceLine], list[str]]:
    lines, notes = [], []
    vehicles = len(plan.job.registrations)
    by_part = {item.part: item for item in stock.stock.values() if item.part}
    for lead in sorted(plan.leads, key=lambda x: (PART_ORDER.index(x.side), x.title, x.lead)):
        price = lead.price or (by_part[lead.lead].price if lead.lead in by_part else "")
        if not price:
            if lead.side != "vehicle":
                notes.append(f"{lead.title} has no price in its file")
            continue
        each = parse_money(price)
        lines.append(
            PriceLine(
                kind="part",
                what=lead.title,
                quantity=str(vehicles),
                total=rounded(each * vehicles, shop.decimals),
                traces=(lead.lead,),
                each=each,
                tax=tax_of(shop, "part"),
            )
        )
    return lines, notes


def _shelf(shop: Shop, stock: Stock, needs: Sequence[Need]) -> list[PriceLine]:
    lines = []
    for need in needs:
        item = stock.stock.get(need.item_id)
        if item is None or item.kind in ("part", TOOL):
            continue
        kind: LineKind = "part" if item.kind in PART_KINDS else "material"
        each = parse_money(item.price)
        lines.append(
            PriceLine(
                kind=kind,
                what=item.title,
                quantity=amount(need.quantity, item.unit),
                total=rounded(each * need.quantity, shop.decimals),
                traces=need.traces,
                each=each,
                tax=tax_of(shop, kind),
            )
        )
    return lines


def _extra_line(extra: Extra, shop: Shop, index: int) -> PriceLine:
    each = parse_money(extra.price)
    return PriceLine(
        kind="extra",
        what=extra.what + (f" ({extra.registration})" if extra.registration else ""),
        quantity=str(extra.quantity),
        total=rounded(each * extra.quantity, shop.decimals),
        traces=(f"extras[{index}]",),
        added=extra.added,
        agreed_by=extra.agreed_by,
        agreed_how=extra.agreed_how,
        agreed_on=(extra.agreed_on or extra.added) if extra.agreed_by else None,
        each=each,
        tax=tax_of(shop, "extra", extra.tax),
    )


def add_up(
    lines: tuple[PriceLine, ...],
    shop: Shop,
    *,
    discount_percent: Decimal,
    deposit: Decimal,
    issued: date,
    notes: tuple[str, ...] = (),
) -> Estimate:
    """Sums of rounded lines: what is shown always adds up, whatever the rates."""

    def of(kind: str) -> Decimal:
        return sum((line.total for line in lines if line.kind == kind), Decimal(0))

    names = dict.fromkeys([*(line.tax for line in lines), shop.tax.name])
    taxes = []
    for name in names:
        own = sum((line.total for line in lines if line.tax == name), Decimal(0))
        discount = rounded(own * discount_percent / 100, shop.decimals)
        percent = tax_percent(shop, name)
        base = own - discount
        if not own and name != shop.tax.name:
            continue
        owed = tax_on(base, percent, included=shop.tax.included, decimals=shop.decimals)
        taxes.append(
            TaxLine(
                name=name, title=tax_words(shop, name), percent=percent, base=base, discount=discount, amount=owed
            )
        )
    if len(taxes) > 1:
        taxes = [t for t in taxes if t.base or t.discount]
    subtotal = sum((line.total for line in lines), Decimal(0))
    discount = sum((t.discount for t in taxes), Decimal(0))
    tax = sum((t.amount for t in taxes), Decimal(0))
    after = subtotal - discount
    exact = after if shop.tax.included else after + tax
    gross = to_step(exact, shop.round_total_to, shop.decimals)
    paid = rounded(deposit, shop.decimals)
    return Estimate(
        lines=lines,
        labour=of("labour"),
        parts=of("part"),
        materials=of("material"),
        extras=of("extra"),
        subtotal=subtotal,
        discount=discount,
        net=exact - tax,
        tax_name=shop.tax.name,
        tax_percent=parse_money(shop.tax.percent),
        tax=tax,
        tax_included=shop.tax.included,
        gross=gross,
        deposit=paid,
        balance=gross - paid,
        valid_until=issued + timedelta(days=shop.valid_days),
        notes=notes,
        taxes=tuple(taxes),
        rounding=gross - exact,
        discount_percent=discount_percent,
    )


def to_step(amount: Decimal, step: str, decimals: int) -> Decimal:
    """An amount at the nearest multiple of the smallest step, half upwards; as it is when there is no step.

    >>> to_step(Decimal("10.03"), "0.05", 2), to_step(Decimal("10.03"), "", 2)
    (Decimal('10.05'), Decimal('10.03'))
    """
    size = parse_money(step) if step else Decimal(0)
    if not size:
        return amount
    return rounded(rounded(amount / size, 0) * size, decimals)


def tax_on(amount: Decimal, percent: Decimal, *, included: bool, decimals: int) -> Decimal:
    """Tax on an amount, or the tax that an amount already holds; rounded once.

    >>> tax_on(Decimal("120.00"), Decimal(20), included=True, decimals=2)
    Decimal('20.00')
    """
    if included:
        return rounded(amount * percent / (100 + percent), decimals)
    return rounded(amount * percent / 100, decimals)


def unpriced_parts(plan: Plan, stock: Stock) -> tuple[Lead, ...]:
    """Parts of a job that it sells for nothing: with a price of 0, or, what the vehicle has not brought, with none.

    An amount that cannot be read is told of elsewhere.
    """
    by_part = {item.part: item for item in stock.stock.values() if item.part}
    out = []
    for lead in plan.leads:
        price = lead.price or (by_part[lead.lead].price if lead.lead in by_part else "")
        if is_nothing(price) if price else lead.side != "vehicle":
            out.append(lead)
    return tuple(out)


def is_nothing(price: str) -> bool:
    """Whether an amount is 0; one that cannot be read is not.

    >>> is_nothing("0.00"), is_nothing("12.50"), is_nothing("much")
    (True, False, False)
    """
    try:
        return not parse_money(price)
    except UnitError:
        return False


def left_out_problems(
    plan: Plan,
    shop: Shop,
    stock: Stock,
    minutes: JobMinutes,
    shop_place: Callable[..., Location],
    part_place: Callable[[str], Location],
) -> tuple[Problem, ...]:
    """A warning for work without standard minutes, one a job; for a rate of 0; and for each part that is sold for nothing.

    A shop that has written neither rates nor minutes makes no prices here, and is told nothing.
    """
    if not shop.model_fields_set & {"rates", "minutes"}:
        return ()
    found = Collector()
    warn = partial(found.warning, job=plan.job.job)
    if minutes.missing:
        names = [name.removeprefix("access-") for name in minutes.missing]
        work = [n for n, m in zip(names, minutes.missing, strict=True) if n == m]
        areas = [n for n, m in zip(names, minutes.missing, strict=True) if n != m]
        told = ", ".join([*work, *(f"access to {area}" for area in areas)])
        written = [f"operations: {{{', '.join(f'{name}: …' for name in work)}}}"] if work else []
        written += [f"access: {{{', '.join(f'{area}: …' for area in areas)}}}"] if areas else []
        warn(
            "no-minutes",
            f"shop.yaml has no minutes for {told}: this work is in no estimate",
            shop_place("minutes"),
            hint=f"time it, then write your own figures under  minutes:  {', '.join(written)}",
        )
    rates = dict.fromkeys(["", *(o.rate for o in minutes.operations)])
    for rate in rates:
        if is_nothing(shop.rates.others.get(rate, "") if rate else shop.rates.labour_hour):
            warn(
                "price-is-nothing",
                f"an hour of work costs 0 ({rate or 'labour_hour'}): it is in no estimate",
                shop_place("rates", "others", rate) if rate else shop_place("rates", "labour_hour"),
                hint="write what an hour costs",
            )
    for lead in unpriced_parts(plan, stock):
        warn(
            "price-is-nothing",
            f"{lead.title} has {'a price of 0' if lead.price else 'no price'}: it is in no estimate",
            part_place(lead.lead),
            hint="write its price there; if the customer brings it, leave it so",
        )
    return tuple(found.problems)


def authorised(job: Job, estimate: Estimate) -> Authorised:
    """What was agreed, apart from what was estimated."""
    amounts = []
    for agreement in job.agreed:
        try:
            amounts.append(parse_money(agreement.amount))
        except UnitError:
            continue
    return Authorised(
        agreements=job.agreed,
        amount=sum(amounts, Decimal(0)) if amounts else None,
        amounts=tuple(amounts),
        open=tuple(line for line in estimate.added if not line.agreed_by),
    )


FAR_ABOVE = Decimal("1.5")
"""So many times what a job comes to is more than anybody agrees to: mostly a new total that was written as one more line.
Common practice, no source."""


def price_problems(job: Job, estimate: Estimate, shop: Shop, place: Callable[..., Location]) -> tuple[Problem, ...]:
    """A warning where the job comes to more than was agreed, or to far less; where the word is older than prices stand and
    was given for an earlier revision; where the deposit is more than the whole."""
    out = []

    def warn(code: str, message: str, where: Location, hint: str) -> None:
        out.append(
            Problem(code=code, severity=Severity.WARNING, message=message, hint=hint, location=where, job=job.job)
        )

    def said(value: Decimal) -> str:
        return shown(value, shop.currency, shop.decimals).replace("\u202f", " ")

    agreed = authorised(job, estimate).amount
    last = max((a.on for a in job.agreed if a.on is not None and a.amount), default=None)
    old = job.replaces and last is not None and last + timedelta(days=shop.valid_days) < job.issued
    if old and last is not None and agreed != estimate.gross:
        warn(
            "agreed-before",
            f"the last word on the price is of {last.isoformat()}, and revision {job.revision} is of"
            f" {job.issued.isoformat()}: prices of this shop stand for {shop.valid_days} days, and the job comes to"
            f" {said(estimate.gross)} now",
            place("agreed"),
            "ask again; then write the new word, with the whole sum, in place of the older lines",
        )
    elif agreed is not None and estimate.gross > agreed:
        warn(
            "more-than-agreed",
            f"the job comes to {said(estimate.gross)}, and {said(agreed)} was agreed",
            place("agreed"),
            "ask the customer, then add one more line to  agreed  with what the new word adds, not the new total:"
            f'  amount: "{estimate.gross - agreed:f}"',
        )
    elif agreed is not None and estimate.gross and agreed >= estimate.gross * FAR_ABOVE:
        warn(
            "agreed-far-above",
            f"{said(agreed)} was agreed, and the job comes to {said(estimate.gross)}",
            place("agreed"),
            "every line of  agreed  is what it adds: where one of them is a new total, write there only what it adds",
        )
    if estimate.deposit > estimate.gross:
        warn(
            "deposit-too-large",
            f"the deposit of {said(estimate.deposit)} is more than the whole, {said(estimate.gross)}",
            place("deposit"),
            "look at the amount",
        )
    return tuple(out)
