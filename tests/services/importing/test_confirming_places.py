"""What a file says of targets, sites and stands is kept as it was put."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Population, Site, Target
from tests.services.importing.test_confirming import FILES


def test_targets_are_kept_on_the_basis_they_were_put(desk: Any, basin: None, session: Session) -> None:
    desk.bring("targets", FILES["targets"])

    kept = [
        (
            t.basis,
            t.season,
            t.plants,
            t.density_per_ha,
            t.share,
            t.survival_year,
            t.assurance,
            t.plant_on,
            t.priority,
        )
        for t in session.scalars(select(Target).order_by(Target.id))
    ]
    assert kept == [
        ("plants", 2027, 500, None, None, None, 0.9, dt.date(2027, 11, 20), 3),
        ("density", 2027, None, 1100.0, 0.25, None, None, None, 3),
        ("survivors", 2028, 300, None, None, 3, None, None, 3),
    ]


def test_a_target_may_change_its_basis(desk: Any, basin: None, session: Session) -> None:
    head = "site,species,season,plants,plants per hectare,share,survival year\n"
    desk.bring("targets", head + "S-1,Quercus ilex,2027,500,,,1\n")

    desk.bring("targets", head + "S-1,Quercus ilex,2027,,1000,50 %,\n")

    target = session.scalars(select(Target)).one()
    assert (target.basis, target.plants, target.density_per_ha, target.share, target.survival_year) == (
        "density", None, 1000.0, 0.5, None,
    )  # fmt: skip


def test_sites_keep_their_window(desk: Any, session: Session) -> None:
    desk.bring("sites", FILES["sites"])

    site = session.scalars(select(Site)).one()
    assert (site.area_ha, site.window_opens, site.window_closes) == (2.5, "11-15", "02-28")


def test_a_target_is_imported_with_who_pays_for_it(desk: Any, basin: None, session: Session) -> None:
    desk.bring("targets", "site,species,season,plants,financiador\nS-1,Quercus ilex,2027/28,500,River fund\n")
    assert session.scalars(select(Target.funder)).all() == ["River fund"]


def test_register_country_and_sensitivity_of_a_population_come_with_the_file_and_stay_without(
    desk: Any, session: Session
) -> None:
    head = "code,name,species,latitude,longitude"
    desk.bring(
        "populations",
        f"{head},Referência do registo,País,Sensível\nP-8,Serra,Quercus ilex,38.3,-8.3,PT/12,pt,sim\n",
    )
    desk.bring("populations", f"{head}\nP-8,Serra alta,Quercus ilex,38.3,-8.3\n")

    row = session.scalars(select(Population)).one()
    session.refresh(row)
    assert (row.name, row.register_reference, row.country, row.is_sensitive) == ("Serra alta", "PT/12", "PT", True)
    refused = desk.reasons("populations", f"{head},country\nP-8,Serra,Quercus ilex,38.3,-8.3,QQ\n")
    assert [told for *_rest, told in refused] == [
        "“QQ” is no country. Write its two letters, such as PT, ES or FR."
    ]
