"""Works beside the requests: one of a kind at a time, and the oldest forgotten."""

from __future__ import annotations

import threading

from flask import Flask

from nursery.errors import Invalid
from nursery.web.works import MOST_KEPT, Work, Works, begin_work, works


def test_one_work_goes_on_at_a_time_and_old_ones_are_forgotten() -> None:
    kept, hold = Works(), threading.Event()

    def wait(work: Work) -> None:
        work.done, work.parts = 3, 9
        hold.wait(10)
        work.trouble = "over"

    first, is_own = kept.begin(wait)
    assert is_own is True
    assert kept.begin(wait) == (first, False)
    hold.set()
    for _again in range(MOST_KEPT + 1):
        for work in kept.kept.values():
            assert work.over.wait(10)
        kept.begin(wait)
    assert (first.done, first.parts) == (3, 9)
    assert len(kept.kept) == MOST_KEPT
    assert kept.find(first.token) is None


def test_a_work_of_one_kind_does_not_hold_up_another_kind(app: Flask) -> None:
    hold = threading.Event()

    def wait(work: Work) -> None:
        hold.wait(10)
        work.made_id = 1

    with app.app_context():
        plan, _own = begin_work("plans", wait, failed="no")
        report, is_own = begin_work("reports", wait, failed="no")
        assert is_own is True
        assert report is not plan
        assert works("reports").find(report.token) is report
        hold.set()
        assert plan.over.wait(10)
        assert report.over.wait(10)


def test_a_refusal_is_told_in_its_own_words_and_a_fault_in_those_of_the_work(app: Flask) -> None:
    def refuse(_work: Work) -> None:
        raise Invalid({"season": "There is no such season."})

    def break_down(_work: Work) -> None:
        raise ZeroDivisionError

    with app.app_context():
        for do, trouble in ((refuse, "There is no such season."), (break_down, "It came to nothing.")):
            work, _own = begin_work("reports", do, failed="It came to nothing.")
            assert work.over.wait(10)
            assert (work.is_over, work.trouble) == (True, trouble)
