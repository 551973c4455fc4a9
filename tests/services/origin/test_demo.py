"""The demo season shows every kind of verdict, strategy and decision."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Decision, Site, Strategy
from nursery.services.origin.matrix import lots_of_site
from nursery.services.origin.verdicts import Cell


def at(session: Session, code: str, today: dt.date) -> dict[str, Cell]:
    """The verdicts on the lots that a site wants, by code."""
    site_id = session.scalars(select(Site.id).where(Site.code == code)).one()
    lots, cells = lots_of_site(session, site_id, today=today, species_id=None)
    return {lots[cell.lot_id]["lot_code"]: cell for cell in cells}


def stopped(cells: dict[str, Cell], rule: str) -> set[str]:
    """Stems of the codes of lots that one rule alone stops."""
    return {code[:4] for code, cell in cells.items() if cell.verdict == "stop" and cell.rules == (rule,)}


def test_the_demo_holds_each_strategy_each_refusal_and_an_override(
    loaded_on: Callable[[dt.date], Session], today: dt.date
) -> None:
    session = loaded_on(today)

    kinds = session.execute(select(Site.code, Strategy.kind).join(Strategy.site).order_by(Site.code))
    assert [tuple(row) for row in kinds] == [("S-005", "climate"), ("S-009", "composite"), ("S-011", "strict")]
    greenway, slope = at(session, "S-014", today), at(session, "S-013", today)
    assert stopped(greenway, "elevation") == {"ACMN"}
    assert stopped(greenway, "mothers") == {"FRAN"}
    assert stopped(slope, "basin") == {"EAYE", "NEEA", "QUUE", "QURT"}
    hillside = at(session, "S-005", today)
    assert {cell.source.value for cell in hillside.values()} == {"local", "near", "climate"}
    of_pear = select(Decision).join(Site).where(Site.code == "S-005")  # another let ash through a winter earlier
    override = session.scalars(of_pear).one()
    pear = hillside[override.lot.code]
    assert (pear.verdict, pear.rules, pear.allowed) == ("stop", ("mothers",), True)
    burnt = at(session, "S-009", today)
    crossing = {code[:4] for code, cell in burnt.items() if "region" in cell.rules and cell.verdict == "caution"}
    assert "QURT" in crossing
