from __future__ import annotations

import threading
from pathlib import Path

from sqlalchemy import text
from sqlalchemy.orm import Session

from nursery.database import make_engine, make_sessions, upgrade, writing


def test_two_people_who_read_and_then_write_wait_for_each_other(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'nursery.sqlite'}")
    upgrade(engine)
    sessions = make_sessions(engine)
    with Session(engine) as session:
        row = "(id, assurance, spare_trays, cost_seed, cost_thin, cost_cell) VALUES (1, 0.8, 0, 0, 0, 0)"
        session.execute(text(f"INSERT INTO preferences {row}"))
        session.commit()
    failed: list[Exception] = []

    def add_spare_trays() -> None:
        try:
            for _ in range(20):
                with writing(sessions) as session:
                    count = session.scalar(text("SELECT spare_trays FROM preferences"))
                    session.execute(text("UPDATE preferences SET spare_trays = :n"), {"n": count + 1})
                    session.commit()
        except Exception as error:  # noqa: BLE001 -- told by the assertion below
            failed.append(error)

    threads = [threading.Thread(target=add_spare_trays) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with Session(engine) as session:
        assert (failed, session.scalar(text("SELECT spare_trays FROM preferences"))) == ([], 100)
    engine.dispose()
