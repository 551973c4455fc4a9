"""A reason of a whole letter is refused wherever a load asks for one, and nothing is written."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models.dispatches import DispatchStatus, ReturnDecision
from nursery.services.dispatches.planning import cancel_load, plan_load
from nursery.services.dispatches.returning import decide, note_return, undo_decision
from nursery.services.dispatches.sending import send, take_back
from nursery.services.dispatches.undoing import take_act_back
from tests.services.dispatches.conftest import ANA, SENT, TODAY, Yard

FITS, LONG = "x" * 500, "x" * 501
TOLD = "The reason has 501 characters; at most 500 fit. Shorten it."


def test_a_letter_is_no_reason_on_the_way_of_a_load(session: Session, yard: Yard) -> None:
    load = plan_load(
        session, ANA, site_id=yard.site.id, planned_on=SENT, today=TODAY,
        lines=[{"batch_id": yard.own.id, "plants": 100}],
    )  # fmt: skip
    (line,) = load.lines
    with pytest.raises(Invalid, match=TOLD):
        cancel_load(session, ANA, load=load, reason=LONG)
    with pytest.raises(Invalid, match=TOLD):
        send(session, ANA, load=load, sent_on=SENT, today=TODAY, reason=LONG)
    assert load.status is DispatchStatus.PLANNED

    send(session, ANA, load=load, sent_on=SENT, today=TODAY, reason=FITS)
    with pytest.raises(Invalid, match="The text is longer than 500 characters"):
        note_return(session, ANA, line=line, plants=10, returned_on=TODAY, today=TODAY, condition=LONG)
    row = note_return(session, ANA, line=line, plants=10, returned_on=TODAY, today=TODAY, condition=FITS)
    asked = {"decision": ReturnDecision.DISCARDED, "decided_on": TODAY, "today": TODAY}
    with pytest.raises(Invalid, match=TOLD):
        decide(session, ANA, row=row, reason=LONG, **asked)
    decide(session, ANA, row=row, reason=FITS, **asked)
    with pytest.raises(Invalid, match=TOLD):
        undo_decision(session, ANA, row=row, reason=LONG, today=TODAY)
    with pytest.raises(Invalid, match=TOLD):
        take_back(session, ANA, load=load, reason=LONG, today=TODAY)
    with pytest.raises(Invalid, match=TOLD):
        take_act_back(session, ANA, act=line.act, reason=LONG, today=TODAY)
    assert (load.status, row.decision, row.decided_reason) == (DispatchStatus.SENT, ReturnDecision.DISCARDED, FITS)


def test_a_reason_still_has_to_be_there(session: Session, yard: Yard) -> None:
    load = plan_load(session, ANA, site_id=yard.site.id, planned_on=SENT, today=TODAY)
    with pytest.raises(Invalid, match="Write down why the load is cancelled"):
        cancel_load(session, ANA, load=load, reason="  ")
