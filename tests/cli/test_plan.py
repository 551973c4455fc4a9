"""``nursery plan``."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Lot, Plan
from tests.databases import Kept

Run = Callable[..., Result]

#: Fields of a line that outsiders may rely on.
FIELDS = {
    "target", "site", "species", "season", "wanted", "plants_to_plant", "method", "container", "seeds_per_cell",
    "cells", "trays", "seeds", "grams", "lots", "collect_by", "pretreat_on", "sow_on", "ready_on", "plant_on",
    "expected", "p10", "p90", "probability", "shortfall", "problems",
}  # fmt: skip


@pytest.fixture
def demo(demo_file: Kept, home: Path) -> Path:
    demo_file.copy(home, "demo")
    return home / "demo.sqlite"


def test_json_has_every_field_of_the_contract(run: Run, demo: Path) -> None:
    lines = json.loads(run("plan", "--json").stdout)["lines"]

    assert len(lines) == 78 + 11  # eleven of the crop that grows already
    assert [line["target"] for line in lines if not line.keys() >= FIELDS] == []
    assert {tuple(sorted(draw)) for line in lines for draw in line["lots"] if len(draw) == 3} <= {
        ("grams", "lot", "seeds")
    }


def test_json_promises_no_lot_beyond_its_balance(run: Run, demo: Path) -> None:
    lines = json.loads(run("plan", "--json").stdout)["lines"]
    grams: defaultdict[str, float] = defaultdict(float)
    seeds: defaultdict[str, int] = defaultdict(int)
    for line in lines:
        for draw in line["lots"]:
            grams[draw["lot"]] += draw["grams"] or 0.0
            seeds[draw["lot"]] += draw["seeds"]

    engine = make_engine(f"sqlite:///{demo}")
    with Session(engine) as session:
        lots = {lot.code: lot for lot in session.scalars(select(Lot))}
    engine.dispose()
    assert len(seeds) > 20
    for code, total in seeds.items():
        lot = lots[code]
        if lot.amount_mg is None:
            assert total <= (lot.pieces or 0)
        else:
            assert grams[code] <= lot.amount_mg / 1000 + 1e-6
            assert total <= lot.amount_mg / 1000 * (lot.purity or 1) / (lot.tsw_g or 1) * 1000 + 1e-6


def test_in_short_it_is_what_the_demo_shows(run: Run, demo: Path) -> None:
    summary = run("demo", "--no-serve").stdout.splitlines()[1:]

    assert run("plan").stdout.splitlines() == summary


def test_a_new_plan_is_reckoned_and_adopted(run: Run, demo: Path) -> None:
    engine = make_engine(f"sqlite:///{demo}")
    with Session(engine) as session, session.begin():
        session.scalars(select(Lot).where(Lot.archived_at.is_(None), Lot.pieces.is_(None))).first().amount_mg = 1  # type: ignore[union-attr]

    assert run("plan", "--new").exit_code == 0

    with Session(engine) as session:
        made = session.scalar(select(func.count()).select_from(Plan))
        assert made == 4  # of the season before, of the running crop, of today, and this one
        assert session.scalars(select(Plan.label).where(Plan.is_adopted)).all() == ["Made at the command line"]
    engine.dispose()


def test_without_a_plan_it_says_how_to_make_one(run: Run) -> None:
    run("upgrade")

    assert "nursery plan --new" in run("plan").output
    refused = run("plan", "--json")
    assert refused.exit_code == 2
    assert "nursery plan --new" in refused.output


def test_a_plan_without_targets_is_refused_in_words(run: Run) -> None:
    run("upgrade")
    result = run("plan", "--new")

    assert result.exit_code == 2
    assert "no target" in result.output
