"""Search by any code or name."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.services import records
from nursery.services.codes import lot_code
from nursery.services.search import find_code, search

CODE = lot_code("Quercus suber", 2026, 7)


def _kinds(session: Session, text: str) -> dict[str, int]:
    return {group.kind.name: len(group.page.rows) for group in search(session, text).groups}


@pytest.mark.parametrize("typed", [CODE, CODE.lower(), CODE.replace("-", ""), CODE.replace("-", " ")])
def test_a_lot_code_is_found_however_it_is_typed(session: Session, maker: Any, typed: str) -> None:
    lot = maker.lot(code=CODE)
    assert find_code(session, typed) == ("lots", lot.id)


def test_codes_of_other_records_are_found_whatever_their_capitals_and_when_archived(
    session: Session, maker: Any
) -> None:
    site, trip, population = (
        maker.site(code="S-014"),
        maker.trip(code="T-2026-003"),
        maker.population(code="P-009"),
    )
    records.archive(session, "Ana", site)
    session.flush()
    assert find_code(session, "s-014") == ("sites", site.id)
    assert find_code(session, "t-2026-003") == ("trips", trip.id)
    assert find_code(session, "p-009") == ("populations", population.id)


def test_a_batch_is_found_by_the_code_on_its_trays_and_by_its_species(session: Session, maker: Any) -> None:
    batch = maker.batch(code="B26-007")

    assert find_code(session, "b26-007") == ("batches", batch.id)
    assert _kinds(session, "quercus suber")["batches"] == 1


def test_a_code_that_two_records_share_leads_to_neither(session: Session, maker: Any) -> None:
    maker.site(code="X1")
    maker.population(code="X1")
    assert find_code(session, "X1") is None


@pytest.mark.parametrize("typed", ["sobreiro", "Quercus suber", "cork oak", "alcornoque"])
def test_any_name_of_a_species_finds_it_with_all_its_records(session: Session, maker: Any, typed: str) -> None:
    maker.lot(population=maker.population())
    maker.target()
    found = search(session, typed)
    assert "quercus-suber" in [entry.key for entry in found.species]
    assert _kinds(session, typed) == {"populations": 1, "lots": 1, "targets": 1}


def test_places_are_found_by_name(session: Session, maker: Any) -> None:
    nursery = maker.nursery(name="Moinho yard")
    maker.container(nursery=nursery, name="Deep 40")
    maker.site(name="Moinho bank")
    maker.site(name="Far bank")
    maker.place(name="Moinho fridge")
    assert _kinds(session, "moinho") == {"sites": 1, "nurseries": 1, "containers": 1, "storage": 1}
    assert _kinds(session, "bank moinho") == {"sites": 1}


def test_a_wrong_check_character_is_explained_with_the_codes_near_it(session: Session, maker: Any) -> None:
    lot = maker.lot(code=CODE)
    last = "4" if CODE[-1] != "4" else "6"
    found = search(session, CODE[:-1] + last)
    assert found.misread == (
        f"“{CODE[:-1] + last}” looks like a lot code, but its check character does not fit: a character is wrong,"
        " or two are swapped. Look at the label again."
    )
    assert found.near == ((lot.id, CODE),)


@pytest.mark.parametrize("typed", ["carvalho-", "sobreiros", "Quercus s", "S-014", "%", "_", "\\", "'"])
def test_a_name_is_not_taken_for_a_misread_code(session: Session, typed: str) -> None:
    assert search(session, typed).misread == ""


def test_a_search_costs_the_same_queries_for_one_and_for_three_records(
    session: Session, engine: Any, maker: Any, count_queries: Any
) -> None:
    found = []
    for _number in range(3):
        maker.lot()
        maker.target()
        with count_queries(engine) as statements:
            search(session, "suber")
        found.append(len(statements))
    assert found == [found[0]] * 3
