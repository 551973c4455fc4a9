"""Files that wait to be confirmed."""

from __future__ import annotations

import datetime as dt

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.models import Upload
from nursery.services import importing

ACTOR = "Ana Seabra"
SITES = b"code,name,latitude,longitude,area\nS-8,Encosta,38.2,-8.2,2.5\n"


def test_a_file_waits_once_and_its_name_loses_its_folders(session: Session) -> None:
    first = importing.keep_upload(
        session, ACTOR, kind="sites", file_name="C:\\Users\\ana\\sites.csv", content=SITES
    )
    again = importing.keep_upload(session, ACTOR, kind="sites", file_name="x.csv", content=SITES)

    assert (again.id, first.file_name, session.scalar(select(func.count()).select_from(Upload))) == (
        first.id,
        "sites.csv",
        1,
    )


def test_a_file_that_nobody_confirmed_is_forgotten_after_a_month(session: Session) -> None:
    old = importing.keep_upload(session, ACTOR, kind="sites", file_name="a.csv", content=b"code,name\n1,2\n")
    old.created_at = dt.datetime.now(dt.UTC) - dt.timedelta(days=31)
    session.flush()

    importing.keep_upload(session, ACTOR, kind="sites", file_name="b.csv", content=b"code,name\n1,3\n")
    session.expire_all()

    assert session.scalars(select(Upload.file_name)).all() == ["b.csv"]
    with pytest.raises(NotFound):
        importing.find_upload(session, 12345)


def test_a_file_without_rows_is_not_kept(session: Session) -> None:
    with pytest.raises(Invalid) as caught:
        importing.keep_upload(session, ACTOR, kind="sites", file_name="a.csv", content=b"code,name\n")

    assert caught.value.errors == {"file": "The file has headings but no rows. Fill in at least one row."}
    assert session.scalar(select(func.count()).select_from(Upload)) == 0
