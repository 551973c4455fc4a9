"""The server dies in the middle of things: see `tests.faults.kill`, which does it many times more."""

from __future__ import annotations

from pathlib import Path

from tests.faults.kill import kill_often


def test_what_was_acknowledged_outlives_a_killed_server(tmp_path: Path) -> None:
    found = kill_often(tmp_path, times=3)

    assert found.faults == []
    assert found.times == 3
    assert found.acknowledged > 10
