"""Files and records for imports: an invented basin near 38° N, 8° W."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import openpyxl
import pytest
from sqlalchemy import Engine, event
from sqlalchemy.orm import Session

from nursery.services import importing
from nursery.services.importing import Outcome, Preview

ACTOR = "Ana Seabra"


class Desk:
    """Previews and confirms files as a person would."""

    def __init__(self, session: Session, today: dt.date) -> None:
        self.session = session
        self.today = today

    def look(
        self, kind: str, content: str | bytes, mapping: Sequence[str] | None = None, *, from_map: bool = False
    ) -> Preview:
        data = content.encode() if isinstance(content, str) else content
        return importing.preview(
            self.session, kind=kind, file_name="file.csv", content=data, today=self.today, mapping=mapping,
            from_map=from_map,
        )  # fmt: skip

    def bring(self, kind: str, content: str | bytes, *, from_map: bool = False) -> Outcome:
        data = content.encode() if isinstance(content, str) else content
        upload = importing.keep_upload(self.session, ACTOR, kind=kind, file_name="file.csv", content=data)
        seen = importing.preview_upload(self.session, upload_id=upload.id, today=self.today, from_map=from_map)
        assert [(f.row, f.column, f.reason) for f in seen.findings] == []
        return importing.confirm(
            self.session, ACTOR, upload_id=upload.id, today=self.today, seen=seen.fingerprint, from_map=from_map
        )

    def reasons(self, kind: str, content: str | bytes) -> list[tuple[int, str, str, str]]:
        found = self.look(kind, content)
        return [(f.row, f.column, f.value, f.reason) for f in found.findings]


@pytest.fixture
def desk(session: Session, today: dt.date) -> Desk:
    return Desk(session, today)


@pytest.fixture
def basin(desk: Desk) -> None:
    """Two populations and two sites on record."""
    desk.bring(
        "populations",
        "code,name,species,latitude,longitude\n"
        "P-1,Vale Fundo,Quercus ilex,38.1,-8.1\n"
        "P-2,Ribeira Clara,Salix atrocinerea,38.2,-8.2\n",
    )
    desk.bring("sites", "code,name,latitude,longitude,area\nS-1,Monte,38.15,-8.15,4\nS-2,Foz,38.16,-8.16,\n")


@pytest.fixture
def workbook() -> Callable[..., bytes]:
    def make(*rows: Sequence[Any]) -> bytes:
        book = openpyxl.Workbook()
        for row in rows:
            book.worksheets[0].append(list(row))
        buffer = io.BytesIO()
        book.save(buffer)
        return buffer.getvalue()

    return make


@pytest.fixture
def statements(engine: Engine) -> Iterator[list[str]]:
    """Every statement sent to the database."""
    sent: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    yield sent
    event.remove(engine, "before_cursor_execute", note)
