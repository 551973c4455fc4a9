"""What was seen in the field."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy.orm import Session

from nursery.errors import Conflict, Invalid
from nursery.models.lots import Ripeness
from nursery.services.collecting import crop_verdict, cut_test, record_field_facts, sampled_text

SEEN = {
    "plants_present": 80, "mother_plants": 40, "crop_share": 0.2, "cut_sound": 45, "cut_total": 50,
    "ripeness": Ripeness.RIPE, "habitat": "Gravel bank",
}  # fmt: skip


def test_what_was_seen_is_written_onto_the_lot(session: Session, maker: Any) -> None:
    lot = maker.lot()

    record_field_facts(session, "Ana", lot=lot, values=SEEN, version=lot.version)
    session.expire(lot)

    assert {name: getattr(lot, name) for name in SEEN} == SEEN
    assert sampled_text(lot) == "40 of 80 plants"


def test_the_cut_test_has_a_wilson_interval(session: Session, maker: Any) -> None:
    lot = record_field_facts(session, "Ana", lot=maker.lot(), values=SEEN, version=None)

    cut = cut_test(lot)

    assert cut is not None
    # By hand with z = 1.96: (45 + 1.9208) ÷ 53.8416 ∓ 1.96 ÷ 53.8416 · √(45·5 ÷ 50 + 0.9604).
    assert (cut.share, cut.low, cut.high) == (
        0.9,
        pytest.approx(0.7864, abs=1e-4),
        pytest.approx(0.9565, abs=1e-4),
    )
    assert cut_test(maker.lot()) is None


@pytest.mark.parametrize(("share", "tone"), [(0.05, "ok"), (0.2, "ok"), (0.21, "caution"), (1.0, "caution")])
def test_more_than_a_fifth_of_the_crop_is_cautioned(maker: Any, share: float, tone: str) -> None:
    verdict = crop_verdict(maker.lot(crop_share=share))

    assert verdict is not None
    assert verdict[0] == tone


def test_an_unknown_share_says_nothing(maker: Any) -> None:
    assert crop_verdict(maker.lot()) is None


@pytest.mark.parametrize(
    ("values", "field", "told"),
    [
        ({"mother_plants": 9, "plants_present": 8}, "mother_plants",
         "9 plants were sampled of only 8 present. Correct one of the two."),
        ({"cut_sound": 9, "cut_total": 8}, "cut_sound",
         "9 sound seeds of 8 cut cannot be. Correct one of the two."),
        ({"cut_sound": 9}, "cut_total", "Give both numbers of the cut test, or neither."),
        ({"cut_total": 9}, "cut_sound", "Give both numbers of the cut test, or neither."),
        ({"crop_share": 1.2}, "crop_share", "1.2 is out of range. Give a number above 0, up to 1."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(
    session: Session, maker: Any, values: dict[str, Any], field: str, told: str
) -> None:
    with pytest.raises(Invalid) as refused:
        record_field_facts(session, "Ana", lot=maker.lot(), values=values, version=None)

    assert refused.value.errors == {field: told}


def test_an_older_version_is_a_conflict(session: Session, maker: Any) -> None:
    lot = maker.lot()

    with pytest.raises(Conflict):
        record_field_facts(session, "Ana", lot=lot, values=SEEN, version=lot.version + 1)
