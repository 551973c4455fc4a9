"""Histories say days as the reader writes them, whether or not a form has a field for them."""

from __future__ import annotations

import datetime as dt

from flask import Flask, g
from sqlalchemy.orm import Session

from nursery.models import Dispatch
from nursery.models.accounts import Role
from nursery.services import auditing
from nursery.services.accounts.rights import rights_of
from nursery.services.acting import Acting
from nursery.web.dispatches.forms import LoadForm
from nursery.web.history import describe_history
from tests.conftest import Maker


def test_a_day_without_a_field_is_told_as_the_reader_writes_days_and_to_no_viewer(
    app: Flask, session: Session, maker: Maker
) -> None:
    load = Dispatch(code="L26-900", site_id=maker.site().id, planned_on=dt.date(2026, 11, 29))
    session.add(load)
    auditing.record(session, "Ana Seabra", action="load sent", row=load, details={"sent_on": [None, "2026-11-30"]})
    with app.test_request_context():
        g.acting = Acting(1, "Ana Seabra", rights_of([Role.GROWER]))
        (entry,) = describe_history(session, load, LoadForm())
        g.acting = Acting(2, "Funder", rights_of([Role.VIEWER]))
        untold = describe_history(session, load, LoadForm())

    assert [shown[1:] for shown in entry["fields"]] == [("nothing", "30 Nov 2026")]
    assert untold == []
