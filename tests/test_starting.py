"""While the product starts, nothing is collected; afterwards all is as it was."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest

from nursery.starting import without_collecting


@pytest.fixture(autouse=True)
def _as_before() -> Iterator[None]:
    yield
    gc.unfreeze()
    gc.enable()


def test_nothing_is_collected_while_the_block_lasts_and_again_after_it() -> None:
    with without_collecting():
        within = gc.isenabled()

    assert (within, gc.isenabled()) == (False, True)


def test_what_was_made_is_not_looked_through_later() -> None:
    before = gc.get_freeze_count()
    with without_collecting():
        kept = [[number] for number in range(1000)]

    assert gc.get_freeze_count() - before > len(kept)


def test_it_is_on_again_after_a_start_that_failed() -> None:
    with pytest.raises(KeyError), without_collecting():
        raise KeyError("no secret")

    assert gc.isenabled()


def test_within_another_it_stays_off() -> None:
    with without_collecting():
        with without_collecting():
            pass
        within = gc.isenabled()

    assert within is False
