"""The pages of nurseries."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Nursery

TYPED = {"name": "Moinho yard", "latitude": "40.15", "longitude": "-7.45", "bench_area_m2": "120,5"}
MEANS = [7.1, 8.3, 11.0, 13.2, 17.0, 21.9, 25.1, 24.8, 21.0, 16.0, 10.9, 7.9]
TYPED_MEANS = {f"mean_{month}": str(mean).replace(".", ",") for month, mean in enumerate(MEANS, 1)}


def errors(html: str) -> list[str]:
    return re.findall(r'id="(\w+)-error">', html)


def test_a_nursery_with_its_twelve_means_is_written_down_and_given_back(client: Any, session: Session) -> None:
    answer = client.submit("/nurseries/new", {**TYPED, **TYPED_MEANS}, follow_redirects=True)

    row = session.scalars(select(Nursery)).one()
    assert (row.name, row.bench_area_m2, row.monthly_mean_c) == ("Moinho yard", 120.5, MEANS)
    assert "Jan 7.1 · Feb 8.3 · Mar 11 · " in answer.text
    shown = dict(
        re.findall(r'<input[^>]*name="(mean_\d+)"[^>]*value="([^"]*)"', client.get("/nurseries/1/edit").text)
    )
    assert [float(shown[f"mean_{month}"]) for month in range(1, 13)] == MEANS


def test_a_nursery_without_means_and_bench_is_fine(client: Any, session: Session) -> None:
    client.submit("/nurseries/new", {**TYPED, "bench_area_m2": ""})
    row = session.scalars(select(Nursery)).one()
    assert (row.bench_area_m2, row.monthly_mean_c) == (0.0, None)


def test_eleven_means_are_refused_at_the_one_that_lacks(client: Any, session: Session) -> None:
    answer = client.submit("/nurseries/new", {**TYPED, **TYPED_MEANS, "mean_4": ""})

    assert (answer.status_code, errors(answer.text)) == (422, ["mean_4"])
    assert 'value="24,8"' in answer.text
    assert session.scalar(select(func.count(Nursery.id))) == 0


def test_a_change_of_means_reads_as_a_line_in_the_history(client: Any, session: Session, maker: Any) -> None:
    maker.nursery(name="Moinho yard", monthly_mean_c=[10.0] * 12)
    session.commit()
    answer = client.submit("/nurseries/1/edit", {**TYPED, **TYPED_MEANS, "version": "1"}, follow_redirects=True)
    assert "Monthly mean temperatures: Jan 10 · Feb 10" in answer.text


def test_a_nursery_shows_its_containers_only(client: Any, session: Session, maker: Any) -> None:
    maker.container(name="Deep 40", nursery=maker.nursery())
    maker.container(name="Flat 60")
    session.commit()
    page = client.get("/nurseries/1").text
    assert ("Deep 40" in page, "Flat 60" in page) == (True, False)
