"""Bench by week: spans of phases, weeks they touch, sums by place."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nursery.planning.growing.words import STAGES, Stage
from nursery.planning.space.occupancy import (
    OFF_BENCH,
    READY,
    Spans,
    backward_spans,
    by_place,
    forward_spans,
    over,
    stage_codes,
    weekly,
)

SOWN, GROWING, HARDENING = (STAGES.index(stage) for stage in (Stage.SOWN, Stage.GROWING, Stage.HARDENING))
EVEN = np.ones(len(STAGES))
MONDAY = np.datetime64("2026-11-23", "D")


def days(*texts: str | None) -> np.ndarray:
    return np.array([texts], dtype="datetime64[D]")


def spans_of(*rows: tuple[int, str, str, int, float]) -> Spans:
    item, start, end, stage, ground = zip(*rows, strict=True)
    return Spans(
        np.array(item), np.array(start, "datetime64[D]"), np.array(end, "datetime64[D]"), np.array(stage),
        np.array(ground),
    )  # fmt: skip


def test_phases_have_their_stages_and_pretreatment_stands_on_no_bench() -> None:
    names = ["", "cold-stratify", "emergence", "rooting", "pricking-out", "growing", "hardening"]
    assert stage_codes(names).tolist() == [OFF_BENCH, OFF_BENCH, SOWN, SOWN, SOWN + 1, GROWING, HARDENING]


def test_a_line_stands_from_sowing_until_its_planting_day_and_its_last_wait_is_of_ready_plants() -> None:
    spans = backward_spans(
        days("2026-11-01", "2027-02-01", "2027-03-01"), days("2027-02-01", "2027-03-01", "2027-11-10"),
        np.array([[0, 0, 10]]), np.array([[OFF_BENCH, SOWN, GROWING]]), np.array([[1.0, 2.0, 3.0]]),
    )  # fmt: skip
    rows = zip(spans.start.astype(str), spans.end.astype(str), spans.stage, spans.ground, strict=True)
    assert [tuple(row) for row in rows] == [
        ("2027-02-01", "2027-03-01", SOWN, 2.0),
        ("2027-03-01", "2027-10-31", GROWING, 3.0),
        ("2027-10-31", "2027-11-10", READY, 3.0),
    ]


def test_a_batch_stands_where_it_is_until_it_moves_on_and_leaves_on_its_day() -> None:
    spans = forward_spans(
        np.array(["2026-06-01"], "datetime64[D]"), np.array([[200, 30]]), np.array([[GROWING, HARDENING]]),
        np.array([[2.0, 2.0]]), np.array(["2027-02-01"], "datetime64[D]"), np.datetime64("2026-11-25"),
    )  # fmt: skip
    assert list(zip(spans.start.astype(str), spans.end.astype(str), spans.stage.tolist(), strict=True)) == [
        ("2026-11-25", "2026-12-18", GROWING),
        ("2026-12-18", "2027-01-17", HARDENING),
        ("2027-01-17", "2027-02-01", READY),
    ]


def test_a_phase_that_should_be_over_lasts_until_today_and_what_follows_keeps_its_length() -> None:
    spans = forward_spans(
        np.array(["2026-01-01"], "datetime64[D]"), np.array([[30, 30]]), np.array([[SOWN, GROWING]]),
        np.array([[2.0, 2.0]]), np.array(["2026-03-01"], "datetime64[D]"), np.datetime64("2026-11-25"),
    )  # fmt: skip
    assert list(zip(spans.start.astype(str), spans.end.astype(str), spans.stage.tolist(), strict=True)) == [
        ("2026-11-25", "2026-12-25", GROWING),
        ("2026-12-25", "2026-12-26", READY),
    ]


def test_a_day_in_a_week_counts_for_the_week_at_its_largest() -> None:
    spans = spans_of(
        (0, "2026-11-29", "2026-12-07", SOWN, 2.0),  # a Sunday, a whole week, gone on Monday
        (0, "2026-12-07", "2026-12-10", GROWING, 3.0),
        (1, "2026-12-09", "2026-12-10", SOWN, 5.0),
    )
    assert weekly(spans, EVEN, 2, MONDAY, 4).tolist() == [[2.0, 2.0, 3.0, 0.0], [0.0, 0.0, 5.0, 0.0]]


def test_what_began_before_and_ends_after_the_weeks_stands_in_all_of_them() -> None:
    spans = spans_of((0, "2020-01-01", "2035-01-01", SOWN, 2.0))
    assert weekly(spans, EVEN, 1, MONDAY, 3).tolist() == [[2.0, 2.0, 2.0]]


def test_spacing_is_that_of_the_stage() -> None:
    spacing = np.array([1.0, 1.0, 1.5, 1.25, 1.0])
    spans = spans_of(
        (0, "2026-11-23", "2026-11-24", GROWING, 2.0), (1, "2026-11-23", "2026-11-24", HARDENING, 2.0)
    )
    assert weekly(spans, spacing, 2, MONDAY, 1).ravel().tolist() == [3.0, 2.5]


def test_places_add_up_and_tell_what_is_too_little_where_their_area_is_known() -> None:
    taken = np.array([[1.0, 2.0], [4.0, 0.0], [9.0, 9.0]])
    summed = by_place(taken, np.array([0, 0, -1]), 2)
    assert summed.tolist() == [[5.0, 2.0], [0.0, 0.0]]
    assert over(np.array([[5.0, 2.0], [5.0, 2.0]]), [3.0, np.nan]).tolist() == [[2.0, 0.0], [0.0, 0.0]]


@given(
    st.lists(
        st.tuples(st.integers(-60, 400), st.integers(1, 200), st.integers(0, 4), st.floats(0.1, 50)),
        min_size=1,
        max_size=8,
    )
)
def test_no_day_needs_more_than_its_week_is_told_to_take(stays: list[tuple[int, int, int, float]]) -> None:
    spacing, weeks = np.array([1.0, 1.0, 1.5, 1.25, 1.0]), 53
    start = MONDAY + np.array([stay[0] for stay in stays])
    end = start + np.array([stay[1] for stay in stays])
    spans = Spans(
        np.arange(len(stays)), start, end, np.array([stay[2] for stay in stays]),
        np.array([stay[3] for stay in stays]),
    )  # fmt: skip
    taken = weekly(spans, spacing, len(stays), MONDAY, weeks).sum(axis=0)
    calendar = MONDAY + np.arange(7 * weeks)
    stands = (start[:, None] <= calendar) & (calendar < end[:, None])
    by_day = (stands * (spans.ground * spacing[spans.stage])[:, None]).sum(axis=0).reshape(weeks, 7)
    assert np.all(by_day.max(axis=1) <= taken + 1e-9)
    # And no week is told to be taken in which nothing stands.
    assert taken[by_day.max(axis=1) == 0].tolist() == pytest.approx([0.0] * int((by_day.max(axis=1) == 0).sum()))
