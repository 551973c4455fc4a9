"""Every paper of a load tells the trays of its pick list, also once they are counted anew."""

from __future__ import annotations

import io

import pypdfium2
import pytest

from nursery.errors import Invalid
from nursery.models import Bench, Paper, Placement
from nursery.models.papers import PaperKind
from nursery.services.dispatches.picking import pick_list
from nursery.services.dispatches.planning import change_line
from nursery.services.dispatches.sending import send
from nursery.services.dispatches.trays import trays_by_line
from nursery.services.papers.applying import doubt
from nursery.services.papers.printing import paper_pdf
from nursery.services.papers.signing import make_void
from tests.papers_world import ANA, TODAY, World

KINDS = (PaperKind.PLANT_DOCUMENT, PaperKind.PLANT_LABEL, PaperKind.PASSPORT, PaperKind.DELIVERY_NOTE)


@pytest.fixture
def grown(world: World) -> World:
    """310 oaks and 100 thorns, each in ten trays of 40 cells: not every cell holds a plant."""
    bench = Bench(nursery_id=world.maker.nursery().id, name="North", area_m2=20)
    world.session.add(bench)
    world.session.flush()
    for line, alive in zip(world.load.lines, (310, 100), strict=True):
        line.batch.alive = alive
        world.session.add(
            Placement(batch_id=line.batch_id, bench_id=bench.id, trays=10, from_on=line.batch.sown_on, person=ANA)
        )
    world.session.flush()
    return world


def text_of(paper: Paper) -> list[str]:
    document = pypdfium2.PdfDocument(io.BytesIO(paper_pdf(paper)))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


def test_all_papers_tell_the_trays_of_the_pick_list(grown: World) -> None:
    oaks, thorns = grown.load.lines
    assert [(one.line, one.trays) for one in pick_list(grown.session, grown.load)] == [(oaks, 10), (thorns, 9)]

    document, label, passport, note = [text_of(grown.draw(kind)) for kind in KINDS]

    assert "Number of containers with several cells 10" in document[0]
    each = [31] * 9 + [21]
    assert all(f"{held} in a tray; 300 plants" in text for held, text in zip(each, label, strict=True))
    assert len(passport) == 10 + 9
    assert "B-OAKS Deep 40, 300 cm³; trays: 10 300" in note[0]
    assert "B-THORNS Deep 40, 300 cm³; trays: 9 90" in note[0]


def test_trays_on_a_paper_stay_though_plants_die_meanwhile(grown: World) -> None:
    oaks = grown.load.lines[0]
    paper = grown.draw(PaperKind.PLANT_DOCUMENT)
    oaks.batch.trays = 12
    grown.session.flush()

    assert trays_by_line(grown.load.lines)[oaks.id] == 10
    assert doubt(grown.session, paper, TODAY) == ""

    make_void(grown.session, ANA, paper=paper, reason="Wrong purpose")
    assert trays_by_line(grown.load.lines)[oaks.id] == 12  # 310 plants in twelve trays: 300 fill all of them


def test_other_trays_than_a_paper_tells_make_it_untrue(grown: World) -> None:
    papers = [grown.draw(kind) for kind in KINDS]
    change_line(grown.session, ANA, line=grown.load.lines[0], plants=300, trays=8)

    told = [doubt(grown.session, paper, TODAY) for paper in papers]

    assert told[:2] == ["No longer true: it says 10 trays, the load has 8 trays."] * 2
    assert "it says B-OAKS × 10, B-THORNS × 9, the load has B-OAKS × 8, B-THORNS × 9" in told[2]
    assert told[3] == "No longer true: it says 19 trays, the load has 17 trays."


def test_loaded_in_other_trays_a_load_does_not_travel_with_its_papers(grown: World) -> None:
    for kind in KINDS:
        grown.draw(kind)
    oaks = grown.load.lines[0]
    given = {"load": grown.load, "sent_on": TODAY, "today": TODAY}

    with pytest.raises(Invalid, match="These papers are true no longer: PD-2026-001"):
        send(grown.session, ANA, trays={oaks.id: 8}, **given)  # type: ignore[arg-type]
    assert grown.load.lines[0].trays == 10

    send(grown.session, ANA, **given)  # type: ignore[arg-type]
    assert [line.trays for line in grown.load.lines] == [10, 9]


def test_a_paper_of_an_older_load_asks_for_its_trays(grown: World) -> None:
    send(grown.session, ANA, load=grown.load, sent_on=TODAY, today=TODAY, reason="none at hand")
    grown.load.lines[0].trays = None

    with pytest.raises(Invalid) as caught:
        grown.draw(PaperKind.PLANT_DOCUMENT)
    assert "In how many trays B-OAKS went is not written down." in caught.value.errors["trays"]
    note = text_of(grown.draw(PaperKind.DELIVERY_NOTE))
    assert "B-OAKS Deep 40, 300 cm³; trays: not written down 300" in note[0]
