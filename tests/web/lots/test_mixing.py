"""Mixing lots on their pages: refusals in words, and the certificate that a mixture needs."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Lot

DAY = "2026-11-20"


@pytest.fixture
def lots(session: Session, maker: Any) -> list[Lot]:
    """Two populations of one region, and a second lot of the first."""
    stands = [maker.population(region_code="R1") for _number in range(2)]
    made = [maker.lot(population=stand) for stand in (*stands, stands[0])]
    session.commit()
    return made


def mixed(session: Session) -> Lot:
    session.rollback()
    return session.scalars(select(Lot).order_by(Lot.id.desc())).first()  # type: ignore[return-value]


def send(client: Any, one: Lot, *others: int | str, **typed: str) -> Any:
    amounts = {f"amount_{lot_id}": "100" for lot_id in (one.id, *others)}
    data = {
        "with": [str(other) for other in others],
        "happened_on": DAY,
        "storage_place_id": "",
        **amounts,
        **typed,
    }
    return client.submit(f"/lots/{one.id}/mix", data)


def test_a_lot_mixed_with_itself_is_refused_by_name(client: Any, lots: list[Lot]) -> None:
    answer = send(client, lots[0], lots[0].id)

    assert answer.status_code == 422
    assert f"{lots[0].code} cannot be mixed with itself. Choose another lot of the list." in answer.text


def test_a_mixture_without_another_lot_says_what_is_missing(client: Any, lots: list[Lot]) -> None:
    answer = send(client, lots[0])

    assert answer.status_code == 422
    assert f"No lot to mix {lots[0].code} with was chosen. Choose one or more of the list." in answer.text


def test_a_lot_that_is_not_on_the_list_is_refused_with_the_reasons_there_may_be(
    client: Any, session: Session, maker: Any, lots: list[Lot]
) -> None:
    other = maker.lot(population=maker.population(species=maker.species("arbutus-unedo")))
    session.commit()

    answer = send(client, lots[0], other.id)

    assert answer.status_code == 422
    assert f"The lots that were chosen cannot be mixed with {lots[0].code}: they are empty" in answer.text


def test_the_certificate_of_a_mixture_is_kept_and_shown(client: Any, session: Session, lots: list[Lot]) -> None:
    answer = send(client, lots[0], lots[1].id, certificate_number="PT-2026-14")

    assert (answer.status_code, mixed(session).certificate_number) == (303, "PT-2026-14")
    assert "Master certificate of the mixture: PT-2026-14." in client.get(answer.location).text


def test_a_mixture_without_its_certificate_says_so_until_it_is_written_down(
    client: Any, session: Session, lots: list[Lot]
) -> None:
    lots[0].certificate_number = lots[1].certificate_number = "PT-1"
    session.commit()

    page = client.get(send(client, lots[0], lots[1].id).location).text

    # That of the parts is not that of the mixture (RD 289/2003 art. 9(3)).
    row = mixed(session)
    assert row.certificate_number == ""
    assert "needs a new master certificate from the authority" in page
    assert f'href="/lots/{row.id}/edit#certificate_number"' in page


def test_lots_of_one_population_and_year_keep_their_certificate(
    client: Any, session: Session, lots: list[Lot]
) -> None:
    lots[0].certificate_number = lots[2].certificate_number = "PT-1"
    session.commit()

    form = client.get(f"/lots/{lots[0].id}/mix?with={lots[2].id}").text
    page = client.get(send(client, lots[0], lots[2].id).location).text

    assert 'name="certificate_number"' not in form
    assert mixed(session).certificate_number == "PT-1"
    assert "needs a new master certificate" not in page


def test_the_origin_of_a_mixture_is_said_to_be_that_of_its_oldest_part_only(
    client: Any, session: Session, lots: list[Lot]
) -> None:
    send(client, lots[0], lots[1].id)
    words = "A mixture: the population, the day and the trip are those of its oldest part."

    made = mixed(session)
    assert words in client.get(f"/lots/{made.id}").text
    assert words not in client.get(f"/lots/{lots[0].id}").text
