from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Dispatch, ReturnedPlants
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services import batches
from nursery.services.dispatches import direct
from nursery.services.dispatches.sums import load_sums
from tests.services.dispatches.conftest import ANA, SENT, TODAY, Yard

WHEN: dict[str, Any] = {"happened_on": SENT, "today": TODAY}


def test_plants_sent_on_the_batchs_page_are_a_load_that_has_left(session: Session, yard: Yard) -> None:
    direct.send_directly(
        session, ANA, batch=yard.own, site_id=yard.site.id, plants=120, reason="in a hurry", **WHEN
    )
    (load,) = session.scalars(select(Dispatch)).all()
    assert (load.status, load.sent_on, load.notes, load_sums(load).at_site) == (
        DispatchStatus.SENT, SENT, "in a hurry", 120,
    )  # fmt: skip
    assert load.lines[0].target_id == yard.target.id


def test_more_come_back_than_one_load_took_from_the_newest_first(session: Session, yard: Yard) -> None:
    first, second = yard.sent((yard.own, 100)), yard.sent((yard.own, 50))
    rows = direct.bring_back_directly(session, ANA, batch=yard.own, site_id=yard.site.id, plants=70, **WHEN)
    assert [(row.line.dispatch_id, row.plants) for row in rows] == [(second.id, 50), (first.id, 20)]
    assert yard.own.alive == 150  # nobody has decided
    with pytest.raises(Invalid) as caught:
        direct.bring_back_directly(session, ANA, batch=yard.own, site_id=yard.site.id, plants=81, **WHEN)
    assert "80 plants went to Long bank; no more can come back." in str(caught.value)


def test_what_was_sent_before_there_were_loads_gets_one_with_what_came_back_of_it(
    session: Session, yard: Yard
) -> None:
    sent = {"batch": yard.own, "site_id": yard.site.id, **WHEN}
    batches.dispatch(session, ANA, plants=200, **sent)
    batches.bring_back(session, ANA, plants=30, **sent)

    direct.bring_back_directly(
        session, ANA, plants=20, decision=ReturnDecision.DISCARDED, reason="mould on the roots", **sent
    )
    (load,) = session.scalars(select(Dispatch)).all()
    assert (load_sums(load).sent, load_sums(load).returned, load_sums(load).at_site) == (200, 50, 150)
    rows = session.scalars(select(ReturnedPlants).order_by(ReturnedPlants.id)).all()
    assert [(row.plants, row.decision) for row in rows] == [
        (30, ReturnDecision.BACK_IN_STOCK), (20, ReturnDecision.DISCARDED),
    ]  # fmt: skip
    assert (yard.own.alive, batches.dispatched_to(session, yard.own)) == (130, {yard.site.id: 150})
    assert direct.adopt(session, ANA, yard.own) == []  # once
