"""Sites, nurseries and containers: what is written, what is refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Change
from nursery.models.targets import TargetBasis
from nursery.services.containers import change_container, create_container
from nursery.services.nurseries import change_nursery, create_nursery
from nursery.services.sites import change_site, create_site

TODAY = dt.date(2026, 11, 25)
SITE = {
    "name": "Ribeiro",
    "code": "",
    "latitude": 40.2,
    "longitude": -7.4,
    "area_ha": 2.5,
    "window_opens": "11-01",
}
NURSERY = {"name": "Yard", "latitude": 40.1, "longitude": -7.5, "bench_area_m2": 100.0, "monthly_mean_c": None}


def test_a_site_without_a_code_gets_the_next_one(session: Session, maker: Any) -> None:
    maker.site(code="S-014")
    assert create_site(session, "Ana", values=SITE, today=TODAY).code == "S-015"


def test_swapped_coordinates_are_told_apart_by_the_other_records(session: Session, maker: Any) -> None:
    maker.site()
    swapped = {**SITE, "latitude": -7.4, "longitude": 40.2}
    with pytest.raises(Invalid) as refused:
        create_site(session, "Ana", values=swapped, today=TODAY)
    assert list(refused.value.errors) == ["latitude"]
    assert "swapped" in refused.value.errors["latitude"]


@pytest.mark.parametrize(("field", "value"), [("area_ha", 0.0), ("area_ha", -2.0), ("elevation_m", 12000.0)])
def test_a_site_out_of_bounds_is_refused(session: Session, field: str, value: float) -> None:
    with pytest.raises(Invalid) as refused:
        create_site(session, "Ana", values={**SITE, field: value}, today=TODAY)
    assert list(refused.value.errors) == [field]


def test_the_area_stays_while_targets_are_reckoned_from_it(session: Session, maker: Any) -> None:
    site = maker.site()
    target = maker.target(site=site, basis=TargetBasis.DENSITY, density_per_ha=900.0, share=0.5)
    with pytest.raises(Invalid) as refused:
        change_site(session, "Ana", row=site, values={"area_ha": None}, today=TODAY)
    assert list(refused.value.errors) == ["area_ha"]
    target.archived_at = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    assert change_site(session, "Ana", row=site, values={"area_ha": None}, today=TODAY).area_ha is None


def test_twelve_monthly_means_are_kept_and_eleven_refused(session: Session) -> None:
    means = [7.1, 8.3, 11.0, 13.2, 17.0, 21.9, 25.1, 24.8, 21.0, 16.0, 10.9, 7.9]
    row = create_nursery(session, "Ana", values={**NURSERY, "monthly_mean_c": means}, today=TODAY)
    assert row.monthly_mean_c == means
    with pytest.raises(Invalid) as refused:
        change_nursery(session, "Ana", row=row, values={"monthly_mean_c": [*means[:11], None]}, today=TODAY)
    assert refused.value.errors == {
        "monthly_mean_c": "11 of 12 monthly means are given. Fill in all twelve, or leave all of them empty."
    }


def test_a_temperature_in_fahrenheit_is_refused(session: Session) -> None:
    with pytest.raises(Invalid) as refused:
        create_nursery(session, "Ana", values={**NURSERY, "monthly_mean_c": [70.0] * 12}, today=TODAY)
    assert refused.value.errors == {"monthly_mean_c": "70 is out of range. Give a number from -50 to 45."}


def test_a_negative_bench_is_refused(session: Session) -> None:
    with pytest.raises(Invalid) as refused:
        create_nursery(session, "Ana", values={**NURSERY, "bench_area_m2": -1.0}, today=TODAY)
    assert list(refused.value.errors) == ["bench_area_m2"]


def test_a_containers_name_is_its_own_within_its_nursery(session: Session, maker: Any) -> None:
    tray = maker.container(name="Deep 40")
    values = {"nursery_id": tray.nursery_id, "name": "Deep 40", "cells_per_tray": 40, "cell_volume_cm3": 300.0}
    with pytest.raises(Invalid) as refused:
        create_container(session, "Ana", values=values, today=TODAY)
    assert list(refused.value.errors) == ["name"]
    elsewhere = create_container(session, "Ana", values={**values, "nursery_id": maker.nursery().id}, today=TODAY)
    assert elsewhere.name == "Deep 40"


@pytest.mark.parametrize(
    ("field", "value"),
    [("cells_per_tray", 0), ("cell_volume_cm3", 0.0), ("tray_length_mm", -1.0), ("trays_owned", -1)],
)
def test_a_container_out_of_bounds_is_refused(session: Session, maker: Any, field: str, value: float) -> None:
    row = maker.container()
    with pytest.raises(Invalid) as refused:
        change_container(session, "Ana", row=row, values={field: value}, today=TODAY)
    assert list(refused.value.errors) == [field]


def test_all_writes_are_on_record(session: Session) -> None:
    site = create_site(session, "Ana", values=SITE, today=TODAY)
    change_site(session, "Rui", row=site, values={"name": "Ribeiro Velho"}, today=TODAY)
    nursery = create_nursery(session, "Ana", values=NURSERY, today=TODAY)
    tray = {"nursery_id": nursery.id, "name": "Deep", "cells_per_tray": 40, "cell_volume_cm3": 300.0}
    create_container(session, "Ana", values=tray, today=TODAY)
    changes = session.execute(select(Change.person, Change.action, Change.subject).order_by(Change.id)).all()
    assert changes == [
        ("Ana", "created", "sites"),
        ("Rui", "changed", "sites"),
        ("Ana", "created", "nurseries"),
        ("Ana", "created", "containers"),
    ]
