"""Checks of the shop's settings and stock."""

from __future__ import annotations

from decimal import Decimal

from ...model.shop import overdue
from ...money import parse_money
from ...problems import Collector, Location
from ...units import UnitError
from ..library import Library


def _money(text: str, place: Location, found: Collector) -> Decimal | None:
    try:
        return parse_money(text)
    except UnitError as wrong:
        found.error("bad-money", str(wrong), place, hint=wrong.hint)
        return None


def money_is_readable(library: Library, found: Collector) -> None:
    """Rates, tax, prices are plain decimal amounts."""
    if library.shop is not None:
        shop = library.shop
        _money(shop.value.rates.labour_hour, shop.place("rates", "labour_hour"), found)
        for name, rate in shop.value.rates.others.items():
            _money(rate, shop.place("rates", "others", name), found)
        percents = [(shop.value.tax.percent, shop.place("tax", "percent"))]
        percents += [(text, shop.place("tax", "others", name)) for name, text in shop.value.tax.others.items()]
        for text, place in percents:
            percent = _money(text, place, found)
            if percent is not None and percent > 100:
                found.error("out-of-range", f"a tax of {percent} % is out of range", place, hint="0 to 100")
        if shop.value.round_total_to:
            _money(shop.value.round_total_to, shop.place("round_total_to"), found)
    if library.stock is not None:
        for name, item in library.stock.value.stock.items():
            _money(item.price, library.stock.place("stock", name, "price"), found)
    for lead in library.leads.values():
        if lead.value.price:
            _money(lead.value.price, lead.place("price"), found)
    for job in library.jobs.values():
        for index, extra in enumerate(job.value.extras):
            if extra.price:
                _money(extra.price, job.place("extras", index, "price"), found)
        for index, agreement in enumerate(job.value.agreed):
            if agreement.amount:
                _money(agreement.amount, job.place("agreed", index, "amount"), found)
        if job.value.deposit:
            _money(job.value.deposit, job.place("deposit"), found)


def a_part_has_one_price(library: Library, found: Collector) -> None:
    """A part whose price stands with it in leads/ and on the shelf too has the same one in both."""
    if library.stock is None:
        return
    for name, item in library.stock.value.stock.items():
        lead = library.leads.get(item.part) if item.part else None
        if lead is None or not lead.value.price or "price" not in item.model_fields_set:
            continue
        try:
            same = parse_money(item.price) == parse_money(lead.value.price)
        except UnitError:
            continue  # told of already
        if not same:
            found.warning(
                "price-differs",
                f"'{name}' costs {item.price} here and {lead.value.price} in {lead.document.file}: that one counts",
                library.stock.place("stock", name, "price"),
                hint="leave the price out here, or write the same",
            )


def instruments_are_calibrated(library: Library, found: Collector) -> None:
    """No job is issued after the day on which an instrument had to be calibrated."""
    if library.shop is None:
        return
    for index, instrument in enumerate(library.shop.value.instruments):
        for job in library.jobs.values():
            if overdue(instrument, job.value.issued):
                found.warning(
                    "calibration-overdue",
                    f"{instrument.get('name', 'an instrument')} was due for calibration on {instrument['due']},"
                    " before the sheets were issued",
                    library.shop.place("instruments", index, "due"),
                    hint="have it calibrated and write the next day here, or take it out of the list",
                    job=job.value.job,
                )


def stock_ranges_make_sense(library: Library, found: Collector) -> None:
    """A range starts below its end, packs hold at least one, methods exist."""
    if library.stock is None:
        return
    for name, item in library.stock.value.stock.items():
        place = library.stock.place
        if item.low_mm2 is not None and item.high_mm2 is not None and item.low_mm2 > item.high_mm2:
            found.error(
                "bad-range",
                f"'{name}' starts at {item.low_mm2:g} mm² and ends below it",
                place("stock", name, "low_mm2"),
                hint="change the two over",
            )
        if item.pack < 1:
            found.error(
                "out-of-range",
                f"'{name}' comes in packs of {item.pack}",
                place("stock", name, "pack"),
                hint="at least 1",
            )
        if item.method is not None and item.method not in library.reference.methods:
            from ...problems import nearest

            found.error(
                "unknown-method",
                f"the joining method '{item.method}' is not known",
                place("stock", name, "method"),
                hint=nearest(item.method, library.reference.methods),
            )
