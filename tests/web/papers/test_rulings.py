"""A ruling on the purpose of a planting, from the papers of a load to its withdrawal."""

from __future__ import annotations

from sqlalchemy import select

from nursery.models import Ruling
from tests.papers_world import ANA, World
from tests.web.conftest import Browser
from tests.web.papers.test_pages import text_of

LETTER = "Forest service of Ajuvara, letter 114"


def test_a_ruling_is_written_down_from_the_papers_of_a_load_and_changes_them(
    client: Browser, world: World
) -> None:
    world.session.commit()
    papers, page = f"/papers/load/{world.load.id}", f"/papers/rulings/site/{world.load.site_id}"
    assert f'href="{page}?next={papers}"' in text_of(client, papers)
    assert "taken as forestry" in text_of(client, page)

    empty = client.submit(f"{page}?next={papers}", {"reason": "", "ruled_on": ""})
    done = client.submit(f"{page}?next={papers}", {"reason": LETTER, "ruled_on": "2026-11-20"})

    assert (empty.status_code, done.status_code, done.location) == (422, 303, papers)
    after = text_of(client, papers)
    assert f"is not for forestry purposes, by a ruling of 20 Nov 2026: {LETTER} (written down by {ANA})" in after
    assert "RD 289/2003 art. 1 (read in the act or an official copy)" in after
    assert "Quality that the law asks for" not in after


def test_a_ruling_on_a_recipient_is_withdrawn_and_stays_on_record(client: Browser, world: World) -> None:
    world.session.commit()
    page = f"/papers/rulings/recipient/{world.partner.id}"
    client.submit(page, {"reason": LETTER, "ruled_on": "2026-11-20"})
    assert LETTER in text_of(client, f"/recipients/{world.partner.id}")
    second = client.submit(page, {"reason": "Letter 115", "ruled_on": "2026-11-21"})
    assert second.status_code == 422
    assert "A ruling of 20 Nov 2026 stands already." in second.get_data(as_text=True)

    ruling = world.session.scalars(select(Ruling)).one()
    refused = client.submit(f"{page}/{ruling.id}/withdraw", {"reason": ""}, page=page)
    done = client.submit(f"{page}/{ruling.id}/withdraw", {"reason": "Repealed by letter 120"}, page=page)

    assert (refused.status_code, done.status_code) == (422, 303)
    after = text_of(client, page)
    assert "taken as forestry" in after
    assert "Repealed by letter 120" in after
    assert client.submit(f"{page}/{ruling.id + 1}/withdraw", {"reason": "x"}, page=page).status_code == 404
