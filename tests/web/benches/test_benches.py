"""The pages of benches."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Bench

TYPED = {"nursery_id": "1", "name": "East 2", "area_m2": "12,5"}


def test_a_bench_is_written_down_from_its_nursery_and_stands_there(
    client: Any, session: Session, maker: Any
) -> None:
    maker.nursery(name="Moinho yard")
    session.commit()
    assert '<option value="1" selected>' in client.get("/benches/new?nursery=1").text
    answer = client.submit("/benches/new", TYPED, follow_redirects=True)
    assert "“East 2” was saved." in answer.text
    assert session.scalars(select(Bench.area_m2)).all() == [12.5]
    shown = client.get("/nurseries/1").text
    assert re.search(r'<a href="/benches/1">East 2</a>', shown)


def test_the_same_name_twice_is_refused_and_the_typing_kept(client: Any, session: Session, maker: Any) -> None:
    maker.nursery()
    session.commit()
    client.submit("/benches/new", TYPED)
    answer = client.submit("/benches/new", TYPED)
    assert (answer.status_code, 'value="12,5"' in answer.text) == (422, True)
    assert re.findall(r'id="(\w+)-error">', answer.text) == ["name"]
    assert session.scalar(select(func.count(Bench.id))) == 1


def test_the_list_costs_the_same_queries_for_one_and_for_three(
    app: Any, client: Any, session: Session, maker: Any, count_queries: Any
) -> None:
    nursery, found = maker.nursery(), []
    for number in range(3):
        session.add(Bench(nursery_id=nursery.id, name=f"East {number}", area_m2=5.0))
        session.commit()
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/benches")
        found.append(len(statements))
    assert found == [found[0]] * 3
