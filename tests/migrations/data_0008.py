"""The eighth revision: lines of loads keep the trays that papers showed, where these tell of just their plants."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import Connection, text
from sqlalchemy.exc import IntegrityError

#: Line: load, batch, plants asked for and sent. Batch 1 stands in trays of 40, batch 2 in single pots.
LINES = {1: (1, 1, 300, 300), 2: (1, 2, 12, 12), 3: (2, 1, 90, 60), 4: (3, 1, 45, 45), 5: (4, 1, 41, None)}
#: Load, kind, what it tells of each batch, and since when it is void.
PAPERS = (
    (1, "plant-document", {"B-1": 300}, None),
    (1, "delivery-note", {"B-1": 300, "B-2": 12}, None),
    (2, "plant-document", {"B-1": 90}, None),  # drawn up for the whole load, and a part went
    (3, "plant-document", {"B-1": 45}, "2026-11-02 10:00:00"),
    (4, "passport", {"B-1": 2}, None),
)


def load(connection: Connection) -> None:
    """Loads as the version before knew them: with true papers, papers for more, void papers, and planned."""

    def write(statement: str, **values: object) -> None:
        connection.execute(text(statement), values)

    write("INSERT INTO species (id, key, scientific_name) VALUES (1, 'a', 'Arbutus unedo')")
    write(
        "INSERT INTO sites (id, code, name, latitude, longitude, version, created_at)"
        " VALUES (1, 'S-1', 'Bank', 39, -6, 1, '2026-01-01')"
    )
    for batch_id, cells in ((1, 40), (2, 1)):
        write(
            "INSERT INTO batches (id, code, species_id, method, sown_on, seeds, trays, cells_per_tray, stage,"
            " stage_on, version, created_at) VALUES (:id, :code, 1, 'direct', '2026-01-01', 500, 12, :cells,"
            " 'ready', '2026-10-01', 1, '2026-01-01')",
            id=batch_id, code=f"B-{batch_id}", cells=cells,
        )  # fmt: skip
    for load_id in (1, 2, 3, 4):
        status, sent_on = ("planned", None) if load_id == 4 else ("sent", "2026-11-01")
        write(
            "INSERT INTO dispatches (id, code, site_id, status, planned_on, sent_on, version, created_at)"
            " VALUES (:id, :code, 1, :status, '2026-11-01', :sent_on, 1, '2026-10-20')",
            id=load_id, code=f"L-{load_id}", status=status, sent_on=sent_on,
        )  # fmt: skip
    for line_id, (load_id, batch_id, plants, sent) in LINES.items():
        write(
            "INSERT INTO dispatch_lines (id, dispatch_id, position, batch_id, plants, sent)"
            " VALUES (:id, :load, :id, :batch, :plants, :sent)",
            id=line_id, load=load_id, batch=batch_id, plants=plants, sent=sent,
        )  # fmt: skip
    write(
        "INSERT INTO returned_plants (id, line_id, plants, returned_on, person, at)"
        " VALUES (1, 1, 30, '2026-11-02', 'Ana Seabra', '2026-11-02 10:00:00')"
    )
    for number, (load_id, kind, told, voided_at) in enumerate(PAPERS, start=1):
        write(
            "INSERT INTO papers (id, number, kind, dispatch_id, language, particulars, issued_on, keep_until,"
            " person, at, voided_at, void_reason) VALUES (:id, :number, :kind, :load, 'en', :particulars,"
            " '2026-11-01', '2036-11-01', 'Ana Seabra', '2026-11-01 09:00:00', :voided_at, :reason)",
            id=number, number=f"X-{number}", kind=kind, load=load_id, particulars=json.dumps({"told": told}),
            voided_at=voided_at, reason="wrong" if voided_at else "",
        )  # fmt: skip


def check_upgraded(connection: Connection) -> None:
    rows = connection.execute(text("SELECT id, trays FROM dispatch_lines ORDER BY id")).all()
    # 300 plants in full trays of 40 are 8; 41 plants are 2.
    assert [tuple(row) for row in rows] == [(1, 8), (2, None), (3, None), (4, None), (5, 2)]
    assert connection.execute(text("SELECT trays FROM returned_plants")).all() == [(None,)]
    assert connection.execute(text("SELECT count(*) FROM fetched_plants")).scalar_one() == 0
    for refused in (
        "UPDATE dispatch_lines SET trays = -1",
        "UPDATE returned_plants SET trays = -1",
        "INSERT INTO rulings (reason, ruled_on, person, at) VALUES ('x', '2026-11-01', 'Ana', '2026-11-01')",
    ):
        with pytest.raises(IntegrityError), connection.begin_nested():
            connection.execute(text(refused))


def check_downgraded(connection: Connection) -> None:
    rows = connection.execute(
        text("SELECT id, dispatch_id, batch_id, plants, sent FROM dispatch_lines ORDER BY id")
    )
    assert {row.id: tuple(row)[1:] for row in rows} == LINES
    assert connection.execute(text("SELECT id, line_id, plants FROM returned_plants")).all() == [(1, 1, 30)]
    assert connection.execute(text("SELECT count(*) FROM papers")).scalar_one() == len(PAPERS)
