"""What every database holds before anybody types."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.models import Change, Preferences, Species
from nursery.services.setup import set_up


def test_every_species_of_the_catalogue_gets_its_row(session: Session) -> None:
    set_up(session, "Ana Seabra")

    found = session.execute(select(Species.key, Species.scientific_name, Species.authorship)).all()
    assert set(found) == {
        (entry.key, entry.scientific_name, entry.authorship) for entry in load_catalog().species.values()
    }


def test_a_second_time_changes_nothing(session: Session) -> None:
    first = set_up(session, "Ana Seabra")
    noted = session.scalars(select(Change.id)).all()
    first.assurance = 0.9

    again = set_up(session, "Ana Seabra")
    session.flush()

    assert again.assurance == 0.9
    assert session.scalars(select(Change.id)).all() == noted
    assert len(session.scalars(select(Preferences)).all()) == 1


def test_a_new_name_reaches_the_row_and_a_species_that_left_keeps_it(session: Session) -> None:
    set_up(session, "Ana Seabra")
    oak = session.scalars(select(Species).where(Species.key == "quercus-suber")).one()
    oak.authorship = "of another hand"
    session.add(Species(key="left-the-catalogue", scientific_name="Species relicta", authorship=""))

    set_up(session, "Ana Seabra")

    assert oak.authorship == load_catalog().species["quercus-suber"].authorship
    assert session.scalars(select(Species.scientific_name).where(Species.key == "left-the-catalogue")).all() == [
        "Species relicta"
    ]
    changes = session.scalars(select(Change).where(Change.action == "catalogue").order_by(Change.id)).all()
    assert changes[-1].details == {"species": [None, ["quercus-suber"]]}
    assert {change.person for change in changes} == {"Ana Seabra"}
