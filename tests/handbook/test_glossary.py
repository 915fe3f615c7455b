"""Terms are linked where they mean what the glossary says, and not where the same word is an everyday one."""

from __future__ import annotations

import pytest

from .conftest import Site


@pytest.mark.parametrize(
    ("path", "term"),
    [
        ("features/am-fm-reception.html", "station"),  # a radio station is no place on a loom
        ("functions/antenna-turn-on.html", "station"),
        ("cautions/high-voltage.html", "isolation"),  # switching a vehicle dead is no reading of a meter
        ("functions/dimmer-return.html", "spare"),  # an extra ground is no capped tail
        ("chapters/wire-functions.html", "spare"),
    ],
)
def test_an_everyday_word_is_not_linked(path: str, term: str, site: Site) -> None:
    page = site.pages[path]
    assert term in page
    assert f"#term-{term}" not in page


@pytest.mark.parametrize(
    ("path", "term"),
    [
        ("chapters/sleeving-and-tape.html", "station"),
        ("chapters/working-order.html", "isolation"),
        ("chapters/working-order.html", "spare"),
    ],
)
def test_the_trade_s_word_is_linked_where_a_mark_asks_for_it(path: str, term: str, site: Site) -> None:
    assert f'class="term" href="../glossary.html#term-{term}"' in site.pages[path]


def test_every_connector_and_every_method_has_a_drawing(site: Site) -> None:
    pages = [p for p in site.pages if p.startswith(("connectors/", "methods/"))]
    assert len(pages) >= 20
    assert [p for p in pages if '<figure class="drawing' not in site.pages[p]] == []
