"""The pages of standard times."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import StandardTime


def test_every_job_shows_its_time_and_that_it_has_no_source(client: Any) -> None:
    text = client.get("/standard-times").text
    assert text.count("working figure; common practice, no source") == 20


def test_an_own_figure_is_set_with_its_reason_and_put_aside_again(client: Any, session: Session) -> None:
    client.submit("/standard-times/sow", {"hours_per_1000": "3,2", "reason": "timed on 3 March"})
    text = re.sub(r"<[^>]+>|\s+", " ", client.get("/standard-times").text)
    assert re.search(r"Sowing\s+3\.2\s+cells\s+your own\s+timed on 3 March", text)
    client.submit("/standard-times/sow/drop", page="/standard-times/sow")
    assert session.scalars(select(StandardTime)).all() == []


def test_without_a_reason_nothing_is_written(client: Any, session: Session) -> None:
    answer = client.submit("/standard-times/sow", {"hours_per_1000": "3", "reason": ""})
    assert (answer.status_code, "Say where the figure comes from" in answer.text) == (422, True)
    assert session.scalars(select(StandardTime)).all() == []
