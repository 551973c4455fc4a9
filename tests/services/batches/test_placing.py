"""Where a batch stands decides which nursery it belongs to."""

from __future__ import annotations

import datetime as dt

from nursery.services import batches
from tests.services.batches.conftest import ANA, EMERGED, TODAY, Floor


def test_a_batch_moved_whole_to_another_nursery_belongs_there(floor: Floor) -> None:
    batch = floor.counted(300)
    home, away = floor.maker.bench(nursery=batch.nursery), floor.maker.bench(nursery=floor.maker.nursery())
    batches.place(floor.session, ANA, batch=batch, bench_id=home.id, trays=10, from_on=EMERGED, today=TODAY)

    for trays, nursery_id in ((4, home.nursery_id), (6, away.nursery_id)):
        batches.move_trays(
            floor.session, ANA, batch=batch, from_bench_id=home.id, to_bench_id=away.id, trays=trays,
            on=EMERGED + dt.timedelta(days=3), today=TODAY,
        )  # fmt: skip
        assert batch.nursery_id == nursery_id
