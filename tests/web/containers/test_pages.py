"""The pages of container types."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.models import Container

TYPED = {
    "nursery_id": "1",
    "name": "Deep 40",
    "cells_per_tray": "40",
    "cell_volume_cm3": "300",
    "tray_length_mm": "500",
    "tray_width_mm": "400",
    "trays_owned": "250",
}


def errors(html: str) -> dict[str, str]:
    return dict(re.findall(r'id="(\w+)-error">.*?<span>(.*?)</span>', html, re.DOTALL))


def test_a_container_tells_how_much_bench_it_takes(client: Any, session: Session, maker: Any) -> None:
    maker.nursery()
    session.commit()
    page = client.submit("/containers/new", TYPED, follow_redirects=True).text
    facts = dict(re.findall(r"<div><dt>([^<]*)</dt><dd>([^<]*)</dd>", page))
    told = ("Bench for a tray", "Cells on a square metre", "Cells in all")
    assert [facts[label] for label in told] == ["0.2 m²", "200", "10,000"]


def test_the_only_nursery_is_chosen_already(client: Any, session: Session, maker: Any) -> None:
    maker.nursery()
    session.commit()
    assert '<option value="1" selected>' in client.get("/containers/new").text
    assert '<option value="7" selected>' not in client.get("/containers/new?nursery=7").text


def test_what_cannot_be_is_refused_and_the_typing_kept(client: Any, session: Session, maker: Any) -> None:
    maker.nursery()
    session.commit()
    answer = client.submit("/containers/new", {**TYPED, "cells_per_tray": "0", "cell_volume_cm3": "much"})
    assert answer.status_code == 422
    assert errors(answer.text) == {
        "cells_per_tray": "0 is out of range. Give a number from 1 to 2,000.",
        "cell_volume_cm3": "“much” is not a number. Write digits, such as 1250 or 0.5.",
    }
    assert ('value="much"' in answer.text, 'value="250"' in answer.text) == (True, True)
    assert session.scalar(select(func.count(Container.id))) == 0


def test_the_same_name_twice_in_a_nursery_is_refused(client: Any, session: Session, maker: Any) -> None:
    maker.container(name="Deep 40")
    session.commit()
    answer = client.submit("/containers/new", TYPED)
    assert (answer.status_code, list(errors(answer.text))) == (422, ["name"])


def test_the_list_costs_the_same_queries_for_one_and_for_three(
    app: Any, client: Any, session: Session, maker: Any, count_queries: Any
) -> None:
    found = []
    for _number in range(3):
        maker.container()
        session.commit()
        with count_queries(app.extensions["nursery_sessions"].kw["bind"]) as statements:
            client.get("/containers")
        found.append(len(statements))
    assert found == [found[0]] * 3
