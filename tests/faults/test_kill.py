"""Pages or database die in the middle of things: see `tests.faults.kill`, which does it many times more."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.kill import kill_often


def test_what_was_acknowledged_outlives_killed_pages(tmp_path: Path) -> None:
    found = kill_often("sqlite", tmp_path, times=2)

    assert found.faults == []
    assert found.times == 2
    assert len(found.told.saved) > 10


@pytest.mark.postgres
def test_what_was_acknowledged_outlives_a_killed_server_and_the_pages_go_on(tmp_path: Path) -> None:
    found = kill_often("server", tmp_path, times=2)

    assert found.faults == []
    assert found.times == 2
    assert len(found.told.saved) > 10
    assert len(found.told.refused) > 0
