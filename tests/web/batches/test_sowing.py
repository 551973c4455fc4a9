"""Sowing from a lot and from the plan in force."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.app import create_app
from nursery.config import Settings
from nursery.models import Batch, Draw
from tests.databases import Kept
from tests.signing_in import SignedIn
from tests.web.batches.conftest import Floor

TYPED = {
    "lot_id": "L/B", "seeds": "120", "grams": "", "method": "direct", "protocol": "", "trays": "3",
    "seeds_per_cell": "", "bench_id": "", "target_id": "", "sown_on": "2026-11-20", "ready_on": "", "code": "",
    "notes": "",
}  # fmt: skip


def test_a_sowing_takes_its_seed_and_begins_a_batch(client: Any, session: Session, floor: Floor) -> None:
    typed = {**TYPED, "container_id": floor.container.id, "bench_id": floor.benches[1].id}
    page = client.submit("/batches/new?lot=L/B", typed, follow_redirects=True).text

    session.expire_all()
    batch = session.scalars(select(Batch).order_by(Batch.id.desc())).first()
    assert batch is not None
    assert "120 seeds left the lot; batch B26-002 begins. Print its labels now." in page
    assert (batch.lot_id, batch.seeds, batch.seeds_per_cell, batch.trays) == (floor.other.id, 120, 1, 3)
    assert floor.other.pieces == 780
    assert "South" in page


def test_more_seed_than_the_lot_holds_is_refused_and_the_typing_stays(client: Any, floor: Floor) -> None:
    typed = {**TYPED, "container_id": floor.container.id, "seeds": "5000", "notes": "first try"}
    answer = client.submit("/batches/new?lot=L/B", typed)

    assert answer.status_code == 422
    assert "L/B holds 900 pieces; 5,000 pieces cannot leave it." in answer.text
    assert 'value="5000"' in answer.text
    assert "first try" in answer.text


def test_a_lot_on_hold_is_not_sown(client: Any, session: Session, floor: Floor) -> None:
    floor.other.is_held = True
    session.commit()
    answer = client.submit("/batches/new?lot=L/B", {**TYPED, "container_id": floor.container.id})

    assert answer.status_code == 422
    assert "L/B is on hold because no permit covers it." in answer.text
    assert session.scalars(select(Batch.code)).all() == ["B26-001"]


def test_cells_need_a_container_and_flats_do_not(client: Any, session: Session, floor: Floor) -> None:
    refused = client.submit("/batches/new?lot=L/B", {**TYPED, "container_id": ""})
    assert "Choose the container in whose cells it is sown." in refused.text

    taken = client.submit("/batches/new?lot=L/B", {**TYPED, "container_id": "", "method": "pricked-out"})
    assert taken.status_code == 303
    batch = session.scalars(select(Batch).order_by(Batch.id.desc())).first()
    assert batch is not None
    assert (batch.container_id, batch.cells_per_tray) == (None, None)


def test_what_the_plan_draws_comes_filled_in(demo_file: Kept, tmp_path: Path, today: dt.date) -> None:
    settings = Settings(
        database_url=demo_file.copy(tmp_path), data_dir=tmp_path, secret_key="a secret for tests only"
    )
    app = create_app(settings, today=today, testing=True)
    app.test_client_class = SignedIn
    client = app.test_client()
    drawn = re.search(r"/batches/new\?draw=(\d+)", client.get("/batches/new").text)
    assert drawn

    page = client.get(f"/batches/new?draw={drawn[1]}").text

    assert "Filled in from the plan in force" in page
    with Session(app.extensions["nursery_sessions"].kw["bind"]) as session:
        draw = session.get_one(Draw, int(drawn[1]))
        for name, value in (("seeds", draw.seeds), ("lot_id", draw.lot_code)):
            assert re.search(rf'name="{name}"[^>]*value="{value}"', page), name
        assert f'<option value="{draw.line.target_id}" selected>' in page
    assert "The plan reckons with" in page
    # Grams follow from the seeds, also from seeds that a person corrects.
    assert re.search(r'name="grams"[^>]*value=""', page)
    app.extensions["nursery_sessions"].kw["bind"].dispose()
