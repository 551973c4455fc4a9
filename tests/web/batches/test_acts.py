"""The forms of a batch: what is typed, what is refused, what the page then says."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import Batch, Count, PlantMovement
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method
from nursery.services import batches
from tests.web.batches.conftest import Floor

DAY = "2026-11-20"


def count(session: Session, floor: Floor, plants: int = 300) -> None:
    batches.record_count(
        session, "Ana Seabra", batch=floor.batch, stage=Stage.EMERGED, counted_on=dt.date(2026, 11, 15),
        today=dt.date(2026, 11, 25), plants=plants,
    )  # fmt: skip
    session.commit()


def newest(session: Session) -> tuple[str, int]:
    session.rollback()
    session.expire_all()
    row = session.scalars(select(PlantMovement).order_by(PlantMovement.id.desc())).first()
    assert row is not None
    return row.kind.value, row.change


def test_a_scanned_label_opens_the_count_ready_to_be_typed(client: Any, floor: Floor) -> None:
    page = client.get(f"/batches/{floor.batch.id}").text

    assert 'id="now-plants" inputmode="numeric"' in page
    assert '<option value="emerged" selected>Emerged</option>' in page


def test_the_short_form_saves_and_says_so(client: Any, session: Session, floor: Floor) -> None:
    typed = {"stage": "emerged", "plants": "312", "counted_on": DAY, "trays": "10", "cause": "unknown"}
    page = client.submit(
        f"/batches/{floor.batch.id}/count", typed, page=f"/batches/{floor.batch.id}", follow_redirects=True
    ).text

    assert "Saved: 312 plants, emerged, 20 Nov 2026." in page
    assert newest(session) == ("counted", 312)


def test_a_sample_tells_its_interval_and_how_many_trays_more(client: Any, floor: Floor) -> None:
    typed = {"stage": "emerged", "sample": "30 36 25", "counted_on": DAY, "trays": "10", "cause": "unknown"}
    page = client.submit(f"/batches/{floor.batch.id}/count", typed, follow_redirects=True).text

    # By hand: mean 30.33, s 5.508, t(2 df, 95 %) 4.303, error 10·√(0.7·30.33/3) = 26.6, so ± 114.5; for ±10 % of
    # the mean n = (4.303·5.508 ÷ 3.033)² = 61.04, in ten trays 61.04 ÷ 7.104 = 8.6: nine, six more than three.
    assert "Saved: 303 plants, emerged, 20 Nov 2026." in page
    assert "it lies from 188 to 418. Look at 6 more trays for ±10 %." in page


def test_what_was_typed_stays_when_a_count_is_refused(client: Any, session: Session, floor: Floor) -> None:
    typed = {"stage": "growing", "plants": "9000", "counted_on": DAY, "trays": "10", "notes": "wet day"}
    answer = client.submit(f"/batches/{floor.batch.id}/count", {**typed, "cause": "frost"})

    assert answer.status_code == 422
    assert "9,000 plants cannot have come of 400 seeds. Check the number and the batch." in answer.text
    for kept in ('value="9000"', 'value="wet day"', '<option value="growing" selected>', 'value="frost" selected'):
        assert kept in answer.text
    assert session.scalar(select(Count.id)) is None


@pytest.mark.parametrize(
    ("name", "typed", "written"),
    [
        ("lose", {"plants": "12", "cause": "damping-off"}, ("lost", -12)),
        ("thin", {"left": "280"}, ("lost", -20)),
        ("split", {"plants": "90", "trays": "", "target_id": "", "code": ""}, ("split", 90)),
        ("dispatch", {"site_id": "SITE", "plants": "200", "trays_left": ""}, ("dispatched", -200)),
    ],
)
def test_each_act_writes_its_movement(
    client: Any, session: Session, floor: Floor, name: str, typed: dict[str, str], written: tuple[str, int]
) -> None:
    count(session, floor)
    typed = {key: str(floor.site.id) if value == "SITE" else value for key, value in typed.items()}
    answer = client.submit(f"/batches/{floor.batch.id}/act/{name}", {"happened_on": DAY, **typed})

    assert (answer.status_code, newest(session)) == (303, written)
    assert batches.wrong_plant_balances(session) == []


def test_too_many_plants_are_refused_with_what_there_is(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    answer = client.submit(
        f"/batches/{floor.batch.id}/act/lose", {"plants": "301", "cause": "frost", "happened_on": DAY}
    )

    assert answer.status_code == 422
    assert "has 300 plants alive; 301 plants cannot leave it. Give fewer, or count the batch first." in answer.text
    assert 'value="301"' in answer.text


def test_trays_move_from_bench_to_bench(client: Any, session: Session, floor: Floor) -> None:
    north, south = floor.benches
    typed = {"from_bench_id": north.id, "bench_id": south.id, "trays": "4", "happened_on": DAY}
    page = client.submit(f"/batches/{floor.batch.id}/act/move", typed, follow_redirects=True).text

    assert "4 trays moved to South." in page
    assert [(one.bench.name, one.trays) for one in batches.standing(session, floor.batch)] == [
        ("North", 6), ("South", 4),
    ]  # fmt: skip


def test_plants_that_were_dispatched_come_back(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    client.submit(
        f"/batches/{floor.batch.id}/act/dispatch",
        {"site_id": floor.site.id, "plants": "200", "happened_on": DAY, "trays_left": "4"},
    )
    typed = {"site_id": floor.site.id, "plants": "15", "happened_on": DAY, "decision": "back-in-stock"}
    path = f"/batches/{floor.batch.id}/act/bring-back"
    assert client.submit(path, typed).status_code == 422  # nothing rejoins the stock without a reason
    page = client.submit(path, {**typed, "reason": "sound, looked at by Ana"}, follow_redirects=True).text

    assert "15 plants are back in" in page
    assert newest(session) == ("returned", 15)
    assert session.get_one(Batch, floor.batch.id).alive == 115


def test_plants_that_came_back_without_a_decision_stand_apart(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    path = f"/batches/{floor.batch.id}/act"
    typed = {"site_id": floor.site.id, "happened_on": DAY}
    client.submit(f"{path}/dispatch", {**typed, "plants": "200", "trays_left": "4"})
    back = {**typed, "plants": "15", "decision": ""}
    page = client.submit(f"{path}/bring-back", back, follow_redirects=True).text

    assert "They stand apart until somebody decides what becomes of them." in page
    assert "15 came back, to be decided" in page
    assert newest(session) == ("dispatched", -200)
    batch = session.get_one(Batch, floor.batch.id)
    assert (batch.alive, batches.dispatched_to(session, batch)) == (100, {floor.site.id: 185})


def test_plants_sent_where_the_rules_of_origin_keep_them_from_are_written_down_with_a_warning(
    client: Any, session: Session, floor: Floor, maker: Any
) -> None:
    count(session, floor)
    near, far = maker.site(name="Near bank", region_code="R1"), maker.site(name="Far bank", region_code="R9")
    session.commit()
    page = {
        site.name: client.submit(
            f"/batches/{floor.batch.id}/act/dispatch",
            {"site_id": site.id, "plants": "20", "happened_on": DAY, "trays_left": ""},
            follow_redirects=True,
        ).text
        for site in (near, far)
    }

    assert "By the rules of origin this seed is not for Far bank" in page["Far bank"]
    assert "By the rules of origin" not in page["Near bank"]
    assert session.get_one(Batch, floor.batch.id, populate_existing=True).alive == 260


def test_flats_are_pricked_out_into_trays(client: Any, session: Session, floor: Floor, today: dt.date) -> None:
    flats = batches.sow(
        session, "Ana Seabra", lot=floor.lot, seeds=400, trays=2, container_id=None, method=Method.PRICKED_OUT,
        protocol="", sown_on=floor.batch.sown_on, today=today, bench_id=floor.benches[1].id,
    )  # fmt: skip
    session.commit()
    typed = {"pricked": "150", "surplus": "60", "container_id": floor.container.id, "trays": ""}
    page = client.submit(
        f"/batches/{flats.id}/act/prick-out", {**typed, "onto_bench_id": "", "happened_on": DAY},
        follow_redirects=True,
    ).text  # fmt: skip

    assert "150 plants were pricked out into 4 trays." in page
    assert newest(session) == ("lost", -60)
    assert [(one.bench.name, one.trays) for one in batches.standing(session, flats)] == [("South", 4)]


def test_an_act_is_taken_back_from_the_ledger(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    act = session.scalars(select(PlantMovement.act)).one()
    page = client.submit(
        f"/batches/{floor.batch.id}/take-back/{act}", {"reason": "the other batch"}, follow_redirects=True
    ).text

    assert "It was taken back. Both entries stay in the ledger." in page
    assert newest(session) == ("reversal", -300)
    assert session.scalars(select(Count)).one().withdrawn_reason == "the other batch"


def test_a_count_is_withdrawn_with_its_reason(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    counted = session.scalars(select(Count)).one()
    path = f"/batches/{floor.batch.id}/counts/{counted.id}/withdraw"

    refused = client.submit(path, {"reason": ""})
    assert refused.status_code == 422
    assert "Say why the count should not stand" in refused.text
    assert client.submit(path, {"reason": "typed twice"}).status_code == 303
    assert newest(session) == ("reversal", -300)


def test_a_sowing_by_mistake_gives_its_seed_back(client: Any, session: Session, floor: Floor) -> None:
    assert floor.lot.pieces == 1600
    answer = client.submit(f"/batches/{floor.batch.id}/unsow", {"reason": "wrong lot"}, follow_redirects=True)

    session.expire_all()
    assert "the seed is in its lot again" in answer.text
    assert (floor.lot.pieces, floor.batch.archived_at is None) == (2000, False)


def test_a_batch_with_plants_is_not_put_aside(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    page = client.submit(
        f"/batches/{floor.batch.id}/archive", {}, page=f"/batches/{floor.batch.id}", follow_redirects=True
    ).text

    assert "still has 300 plants. Dispatch them, or write them off with the cause, first." in page


def test_batches_of_lots_that_may_not_be_mixed_are_not_merged(
    client: Any, session: Session, floor: Floor, today: dt.date
) -> None:
    count(session, floor)
    other = batches.sow(
        session, "Ana Seabra", lot=floor.other, seeds=80, trays=2, container_id=floor.container.id,
        method=floor.batch.method, protocol="", sown_on=floor.batch.sown_on, today=today,
    )  # fmt: skip
    batches.record_count(
        session, "Ana Seabra", batch=other, stage=Stage.EMERGED, counted_on=today, today=today, plants=70
    )
    session.commit()

    page = client.get(f"/batches/{floor.batch.id}/merge?with={other.id}").text

    assert "These batches may not be merged." in page
    assert "RD 289/2003 art. 9(3)" in page


def test_batches_of_one_lot_are_merged(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    client.submit(
        f"/batches/{floor.batch.id}/act/split",
        {"plants": "90", "trays": "3", "target_id": "", "code": "", "happened_on": DAY},
    )
    part = session.scalars(select(Batch).order_by(Batch.id.desc())).first()
    assert part is not None
    path = f"/batches/{floor.batch.id}/merge"
    page = client.submit(
        path, {"with": part.id, "trays": "", "code": "", "happened_on": DAY}, page=f"{path}?with={part.id}",
        follow_redirects=True,
    ).text  # fmt: skip

    assert "The batches became B26-003. Give it labels of its own." in page
    session.rollback()
    merged = session.scalars(select(Batch).where(Batch.code == "B26-003")).one()
    assert (merged.alive, merged.lot_id, merged.trays) == (300, floor.lot.id, 10)


def test_the_list_is_filtered_by_bench_and_by_what_is_left(client: Any, floor: Floor) -> None:
    code = floor.batch.code
    for asked, there in (
        (f"bench={floor.benches[0].id}", True),
        (f"bench={floor.benches[1].id}", False),
        ("left=sown", True),
        ("left=here", True),
        ("left=alive", False),
        (f"lot={floor.lot.code}", True),
        (f"site={floor.site.id}", True),
        ("stage=growing", False),
        ("species=quercus-suber", True),
    ):
        assert (f">{code}<" in client.get(f"/batches?{asked}").text) is there, asked


def test_the_list_and_the_ledger_go_out_as_files(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)

    table = client.get("/batches.csv").text
    ledger = client.get(f"/batches/{floor.batch.id}/ledger.csv").text

    assert f"{floor.batch.code},Quercus suber,L/A,Emerged,300,10,North,2026-11-02" in table
    assert "2026-11-15,Counted,,300,300" in ledger


def test_what_a_later_count_makes_of_taking_a_loss_back_is_told_before(
    client: Any, session: Session, floor: Floor
) -> None:
    count(session, floor)
    batch = session.get_one(Batch, floor.batch.id)
    lost = batches.lose(
        session, "Ana Seabra", batch=batch, plants=20, cause=Cause.PEST, happened_on=dt.date(2026, 11, 21),
        today=dt.date(2026, 11, 25),
    )  # fmt: skip
    batches.record_count(
        session, "Ana Seabra", batch=batch, stage=Stage.EMERGED, counted_on=dt.date(2026, 11, 22), plants=275,
        today=dt.date(2026, 11, 25),
    )  # fmt: skip
    session.commit()
    path = f"/batches/{batch.id}/take-back/{lost.act}"

    told = client.get(path).text
    assert (
        "was counted on 22 Nov 2026 since, and that count stands: 275 plants in 10 trays stay as they are." in told
    )
    assert "The count will then have found 25 plants fewer than were known; they are written as lost." in told
    client.submit(path, {"reason": "the other bench"})
    session.expire_all()
    assert session.get_one(Batch, batch.id).alive == 275


def test_a_loss_written_late_says_that_the_count_stands(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    batches.record_count(
        session, "Ana Seabra", batch=session.get_one(Batch, floor.batch.id), stage=Stage.EMERGED, plants=250,
        counted_on=dt.date(2026, 11, 24), today=dt.date(2026, 11, 25),
    )  # fmt: skip
    session.commit()
    told = client.submit(
        f"/batches/{floor.batch.id}/act/lose",
        {"plants": "20", "cause": "pest", "happened_on": "2026-11-23"}, follow_redirects=True,
    ).text  # fmt: skip
    assert "was counted on 24 Nov 2026, after that: its plants stay as that count found them" in told


def test_trays_on_no_bench_are_told_with_the_way_to_place_them(
    client: Any, session: Session, floor: Floor
) -> None:
    count(session, floor)
    path = f"/batches/{floor.batch.id}"
    assert "on no bench" not in client.get(path).text
    batch = session.get_one(Batch, floor.batch.id)
    sent = batches.dispatch(
        session, "Ana Seabra", batch=batch, site_id=floor.site.id, plants=120, happened_on=dt.date(2026, 11, 20),
        today=dt.date(2026, 11, 25),
    )  # fmt: skip
    batches.reverse_act(session, "Ana Seabra", act=sent.act, reason="rain", today=dt.date(2026, 11, 25))
    session.commit()

    page = client.get(path).text
    assert "4 trays stand on no bench." in page
    assert f'<a href="{path}/act/place">Put them on a bench</a>' in page


def test_seedlings_that_are_sent_out_are_cautioned_of(client: Any, session: Session, floor: Floor) -> None:
    count(session, floor)
    path = f"/batches/{floor.batch.id}/act/dispatch"
    assert "is at the stage “Emerged”: seedlings that have not been hardened" in client.get(path).text
    batch = session.get_one(Batch, floor.batch.id)
    batches.set_stage(session, "Ana Seabra", batch=batch, stage=Stage.READY, on=dt.date(2026, 11, 20),
                      today=dt.date(2026, 11, 25))  # fmt: skip
    session.commit()
    assert "have not been hardened" not in client.get(path).text
