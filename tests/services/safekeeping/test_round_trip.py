"""Out of a database and back: every table has the fingerprint that it had."""

from __future__ import annotations

import json
import runpy
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from nursery.database import is_current, make_engine, upgrade
from nursery.errors import Conflict, Invalid
from nursery.models import Population
from nursery.services import safekeeping
from nursery.services.safekeeping import Content
from tests.databases import Kept
from tests.services.safekeeping.odd import write_odd_rows

Contents = dict[str, Content]


def contents(engine: Engine) -> Contents:
    with engine.connect() as connection:
        return safekeeping.contents(connection)


def kept_in(file: Path) -> Contents:
    engine = make_engine(f"sqlite:///{file}")
    try:
        return contents(engine)
    finally:
        engine.dispose()


def test_a_season_comes_back_as_it_was(demo_file: Kept, tmp_path: Path) -> None:
    engine = make_engine(demo_file.copy(tmp_path))
    before = contents(engine)
    manifest = safekeeping.back_up(engine, tmp_path / "backup.zip")
    engine.dispose()
    new = tmp_path / "folder" / "new.sqlite"
    restored = safekeeping.restore(tmp_path / "backup.zip", f"sqlite:///{new}")

    assert manifest.tables == before == kept_in(new)
    assert restored.kept is None
    assert sum(content.rows for content in before.values()) == manifest.rows > 4000
    assert [file.name for file in new.parent.iterdir()] == ["new.sqlite"]
    assert (tmp_path / "backup.zip").stat().st_mode & 0o777 == 0o600
    engine = make_engine(f"sqlite:///{new}")
    with Session(engine) as session:
        assert (is_current(engine), safekeeping.find_faults(session)) == (True, [])
    engine.dispose()


@pytest.mark.sqlite
def test_odd_values_come_back_and_the_old_file_is_kept(engine: Engine, database: str, tmp_path: Path) -> None:
    with Session(engine) as session, session.begin():
        write_odd_rows(session)
    odd = contents(engine)
    safekeeping.back_up(engine, tmp_path / "backup.zip")
    with engine.begin() as connection:
        connection.execute(text("UPDATE populations SET notes = 'changed since'"))
    changed = contents(engine)
    engine.dispose()
    with pytest.raises(Conflict, match=r"holds \d+ records that would be lost \(.*populations 16"):
        safekeeping.restore(tmp_path / "backup.zip", database)
    assert contents(engine) == changed
    engine.dispose()
    restored = safekeeping.restore(tmp_path / "backup.zip", database, replace=True)

    assert contents(engine) == odd != changed
    assert restored.kept is not None
    assert kept_in(restored.kept) == changed


@pytest.mark.sqlite
def test_a_database_that_is_in_use_is_not_taken_away(engine: Engine, database: str, tmp_path: Path) -> None:
    safekeeping.back_up(engine, tmp_path / "backup.zip")
    with Session(engine) as session:
        session.add(Population(code="P-1", name="Azenha", species_id=1, latitude=40.0, longitude=-7.0))
        with pytest.raises(Conflict, match="has this database open"):
            safekeeping.restore(tmp_path / "backup.zip", database, replace=True)


def test_what_is_written_meanwhile_is_in_the_backup_whole_or_not_at_all(engine: Engine, tmp_path: Path) -> None:
    """Each write adds a row to one table and counts it in another: else a backup would see them apart."""
    with engine.begin() as connection:
        connection.execute(text("INSERT INTO species (key, scientific_name, authorship) VALUES ('a', 'a', 0)"))
    stop, written = threading.Event(), threading.Event()

    def write() -> None:
        while not stop.is_set():
            with engine.begin() as connection:
                connection.execute(text("UPDATE species SET authorship = authorship + 1"))
                connection.execute(
                    text(
                        "INSERT INTO changes (at, person, action, subject, subject_id, details)"
                        " VALUES ('2026-11-25 10:00:00', 'Ana', 'counted', 'species', 1, '{}')"
                    )
                )
            written.set()

    writer = threading.Thread(target=write)
    writer.start()
    written.wait(30)
    safekeeping.back_up(engine, tmp_path / "backup.zip")
    written.clear()
    went_on = written.wait(30)
    stop.set()
    writer.join()
    with safekeeping.open_archive(tmp_path / "backup.zip") as archive:
        names = archive.manifest.columns["species"]
        (species,) = [json.loads(line) for line in archive.lines("species")]
        rows = archive.manifest.tables["changes"].rows

    assert went_on
    assert int(species[names.index("authorship")]) == rows > 0
    with engine.connect() as connection:
        assert connection.scalar(text("SELECT count(*) FROM changes")) > rows


def test_a_backup_of_an_older_version_is_upgraded(tmp_path: Path) -> None:
    data = runpy.run_path("tests/migrations/data_0004.py")
    old = make_engine(f"sqlite:///{tmp_path / 'old.sqlite'}")
    upgrade(old, "0004")
    with old.begin() as connection:
        data["load"](connection)
    manifest = safekeeping.back_up(old, tmp_path / "backup.zip")
    old.dispose()
    safekeeping.restore(tmp_path / "backup.zip", f"sqlite:///{tmp_path / 'new.sqlite'}")
    new = make_engine(f"sqlite:///{tmp_path / 'new.sqlite'}")

    assert (manifest.revision, is_current(new)) == ("0004", True)
    found = contents(new)
    assert {name: found[name].rows for name in ("populations", "sites", "species")} == {
        name: manifest.tables[name].rows for name in ("populations", "sites", "species")
    }
    assert manifest.tables["sites"].rows > 0
    new.dispose()


def rewritten(file: Path, name: str, change: Callable[[bytes], bytes]) -> Path:
    """A copy of an archive in which one entry is another; its checksums are right."""
    new = file.with_name(f"{change.__name__}-{len(list(file.parent.iterdir()))}.zip")
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(new, "w") as written:
        for entry in old.namelist():
            content = old.read(entry)
            written.writestr(entry, change(content) if entry == name else content)
    return new


def test_an_archive_that_is_not_what_was_written_is_refused(engine: Engine, tmp_path: Path) -> None:
    with Session(engine) as session, session.begin():
        write_odd_rows(session)
    good = tmp_path / "backup.zip"
    safekeeping.back_up(engine, good)
    into = f"sqlite:///{tmp_path / 'new.sqlite'}"
    cut, flipped = tmp_path / "cut.zip", tmp_path / "flipped.zip"
    cut.write_bytes(good.read_bytes()[:-1000])
    with zipfile.ZipFile(good) as archive:
        start = archive.getinfo("tables/attachments.jsonl").header_offset
    content = bytearray(good.read_bytes())
    content[start + 200] ^= 1
    flipped.write_bytes(content)
    changed = rewritten(good, "tables/populations.jsonl", lambda lines: lines.replace(b"Azenha", b"Azinha"))
    shorter = rewritten(good, "tables/movements.jsonl", lambda lines: lines.split(b"\n", 1)[1])
    lying = rewritten(good, "manifest.json", lambda text: text.replace(b'"rows": 1,', b'"rows": 2,'))
    later = rewritten(good, "manifest.json", later_version)
    other = tmp_path / "list.zip"
    other.write_text("a,b\n1,2\n")

    for file, words in (
        (cut, "no backup of a nursery, or is damaged"),
        (flipped, "is no backup of a nursery, or is damaged"),
        (changed, "populations is not what was written"),
        (shorter, "movements is not what was written"),
        (lying, "manifest.json is not what was written"),
        (later, "written by version 9.0, which is later than this one"),
        (other, "no backup of a nursery"),
    ):
        with pytest.raises(Invalid, match=words):
            safekeeping.restore(file, into)
    assert [one.name for one in tmp_path.iterdir() if one.name.startswith("new.sqlite")] == []


def later_version(told: bytes) -> bytes:
    """A manifest of a schema that nobody knows yet, in agreement with itself."""
    before = json.loads(told)
    tables = {name: Content(**one) for name, one in before["tables"].items()}
    manifest = safekeeping.Manifest("9999", "9.0", before["made_at"], tables, before["columns"])
    return json.dumps(
        {**before, "revision": "9999", "version": "9.0", "fingerprint": manifest.fingerprint}
    ).encode()


def test_a_backup_is_never_written_over(engine: Engine, tmp_path: Path) -> None:
    file = tmp_path / "backup.zip"
    file.write_bytes(b"another")
    with pytest.raises(Conflict, match="never written over"):
        safekeeping.back_up(engine, file)

    assert file.read_bytes() == b"another"
    assert [one.name for one in tmp_path.glob("*.part*")] == []


def test_a_file_that_is_no_database_is_kept_beside_what_replaces_it(engine: Engine, tmp_path: Path) -> None:
    safekeeping.back_up(engine, tmp_path / "backup.zip")
    broken = tmp_path / "broken.sqlite"
    broken.write_bytes(b"no database" * 500)
    broken.with_name("broken.sqlite-wal").write_bytes(b"left over")
    with pytest.raises(Conflict, match="cannot be read as a database"):
        safekeeping.restore(tmp_path / "backup.zip", f"sqlite:///{broken}")
    assert broken.read_bytes() == b"no database" * 500
    restored = safekeeping.restore(tmp_path / "backup.zip", f"sqlite:///{broken}", replace=True)

    assert kept_in(broken) == contents(engine)
    assert restored.kept is not None
    assert restored.kept.read_bytes() == b"no database" * 500
