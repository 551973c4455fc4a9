"""The demo's zones cover its places, but for one contradiction, one oak stand and two places to be filled in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.database import make_engine
from nursery.models import Population, Site
from nursery.models.climates import Climate, Period
from nursery.models.zones import ZoneKind
from nursery.services.zones import Standing, place_records
from tests.conftest import TODAY
from tests.databases import Kept


@pytest.fixture(scope="module")
def demo(seasons: Callable[[dt.date], Kept], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Session]:
    engine = make_engine(seasons(TODAY).copy(tmp_path_factory.mktemp("zones")))
    with Session(engine) as session:
        yield session
    engine.dispose()


@pytest.mark.parametrize(
    ("model", "expected"),
    [
        # The regions of cork oak end at the watershed, so the map has none for the oaks of Ozelta ravine.
        (Population, {("P-006", Standing.DIFFERS, ("GV-B",)), ("P-056", Standing.UNVERIFIED, ())}),
        (Site, {("S-013", Standing.OFFERED, ("ZB-1",)), ("S-014", Standing.OFFERED, ("GV-B",))}),
    ],
)
def test_the_map_agrees_with_the_records_but_for_a_few(
    demo: Session, model: type[Population] | type[Site], expected: set[object]
) -> None:
    codes = {row_id: code for row_id, code in demo.execute(select(model.id, model.code))}  # noqa: C416 -- rows are no pairs to mypy
    placed = place_records(demo, model, codes)

    others = {
        (codes[row_id], placements[kind].standing, placements[kind].codes)
        for row_id, placements in placed.items()
        for kind in ZoneKind
        if placements[kind].standing is not Standing.VERIFIED
    }
    assert others == expected


def test_every_place_has_normals_and_the_expected_ones_are_warmer_and_drier(demo: Session) -> None:
    places = len(demo.scalars(select(Population.id)).all()) + len(demo.scalars(select(Site.id)).all())
    found = {
        period: {
            (climate.population_id, climate.site_id): climate
            for climate in demo.scalars(select(Climate).where(Climate.period == period))
        }
        for period in Period
    }

    assert {period: len(rows) for period, rows in found.items()} == dict.fromkeys(Period, places)
    measures = ("mean_annual_c", "annual_rain_mm", "summer_rain_mm", "coldest_month_min_c")
    table = np.array(
        [
            [[getattr(found[period][place], key) for key in measures] for period in Period]
            for place in found[Period.PRESENT]
        ],
        float,
    )
    now, later = table[:, 0], table[:, 1]
    assert (later - now > 0).all(axis=0).tolist() == [True, False, False, True]
    assert (later - now < 0).all(axis=0).tolist() == [False, True, True, False]
    assert ((now[:, 2] < now[:, 1]) & (now[:, 3] < now[:, 0])).all()
