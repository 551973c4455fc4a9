"""An archive: a zip with the rows of every table as lines of JSON, and a manifest that says what they come to."""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from sqlalchemy import Engine

from nursery import __version__
from nursery.database import revision_of
from nursery.errors import Conflict, Invalid
from nursery.i18n import gettext as _
from nursery.models.types import utc_now
from nursery.services.safekeeping.fingerprints import Content, snapshot, taken_down
from nursery.services.safekeeping.shapes import shapes

#: What the manifest says it is; a later format has another number.
FORMAT = "native nursery archive 1"
_MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What an archive says of itself."""

    revision: str
    #: Version of the product that wrote it, and when, in UTC.
    version: str
    made_at: str
    tables: dict[str, Content]
    columns: dict[str, list[str]]

    @property
    def rows(self) -> int:
        """Rows of all tables."""
        return sum(content.rows for content in self.tables.values())

    @property
    def fingerprint(self) -> str:
        """One fingerprint of everything: revision, tables, columns and rows."""
        parts = [
            self.revision,
            [[name, self.columns[name], asdict(self.tables[name])] for name in sorted(self.tables)],
        ]
        return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Archive:
    """An archive that was opened."""

    manifest: Manifest
    zip: zipfile.ZipFile

    def lines(self, table: str) -> Iterator[bytes]:
        """The rows of a table, checked against the fingerprint when the last was given."""
        digest, rows = hashlib.sha256(), 0
        with self.zip.open(_entry(table)) as file:
            for line in file:
                digest.update(line)
                rows += 1
                yield line
        if Content(rows, digest.hexdigest()) != self.manifest.tables[table]:
            raise _damaged(self.zip.filename, table)

    def check(self) -> None:
        """Read everything once; ``Invalid`` where a table is not what the manifest says."""
        for table in self.manifest.tables:
            for _line in self.lines(table):
                pass


def back_up(engine: Engine, file: Path) -> Manifest:
    """Write the database, as it is at one moment, to ``file``, and read it back before it gets its name.

    Others go on writing meanwhile. The file is readable to its owner only: it holds everything.
    """
    if file.exists():
        raise Conflict(
            _(
                "There is a file %(file)s already, and backups are never written over. Give another name.",
                file=file,
            )
        )
    making = file.with_name(f"{file.name}.part-{os.getpid()}")
    try:
        with os.fdopen(os.open(making, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as stream:
            manifest = _write(engine, stream)
            stream.flush()
            os.fsync(stream.fileno())
        with open_archive(making) as archive:
            archive.check()
            if archive.manifest != manifest:
                raise _damaged(str(file), _MANIFEST)
        # A link refuses to take the place of a file that came meanwhile, as renaming would not.
        _give_name(making, file)
    finally:
        making.unlink(missing_ok=True)
    return manifest


def _give_name(making: Path, file: Path) -> None:
    try:
        os.link(making, file)
    except FileExistsError:
        raise Conflict(_("There is a file %(file)s already. Give another name.", file=file)) from None
    except OSError:  # memory sticks know no links
        making.rename(file)


def _write(engine: Engine, stream: IO[bytes]) -> Manifest:
    tables, columns = {}, {}
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=4) as archive:
        with snapshot(engine) as connection:
            revision = revision_of(connection)
            if revision is None:
                raise Conflict(_("There is no nursery in this database yet, so there is nothing to back up."))
            for shape in shapes(connection):
                with archive.open(_entry(shape.name), "w", force_zip64=True) as entry:
                    tables[shape.name] = taken_down(connection, shape, entry.write)
                columns[shape.name] = list(shape.columns)
        made_at = utc_now().isoformat(timespec="seconds")
        manifest = Manifest(revision, __version__, made_at, tables, columns)
        told = {"format": FORMAT, **asdict(manifest), "fingerprint": manifest.fingerprint}
        with archive.open(_MANIFEST, "w") as entry:  # as the tables, without the day of a clock that may be wrong
            entry.write(json.dumps(told, indent=1).encode())
    return manifest


@contextmanager
def open_archive(file: Path) -> Iterator[Archive]:
    """An archive with its manifest read; ``Invalid`` in words where it is none, or a broken one."""
    try:
        with zipfile.ZipFile(file) as archive:
            yield Archive(_manifest(archive, file), archive)
    except (zipfile.BadZipFile, EOFError, zipfile.zlib.error) as error:  # type: ignore[attr-defined]
        raise Invalid(
            {
                "file": _(
                    "%(file)s is no backup of a nursery, or is damaged (%(reason)s). Nothing was changed; take"
                    " another.",
                    file=file,
                    reason=str(error),
                )
            }
        ) from error


def _manifest(archive: zipfile.ZipFile, file: Path) -> Manifest:
    try:
        told: dict[str, Any] = json.loads(archive.read(_MANIFEST))
        known = told["format"] == FORMAT
        manifest = Manifest(
            revision=str(told["revision"]),
            version=str(told["version"]),
            made_at=str(told["made_at"]),
            tables={name: Content(int(one["rows"]), str(one["sha256"])) for name, one in told["tables"].items()},
            columns={name: [str(column) for column in one] for name, one in told["columns"].items()},
        )
        whole = told["fingerprint"] == manifest.fingerprint
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise Invalid(
            {"file": _("%(file)s is no backup of a nursery. Give a file that “nursery backup” wrote.", file=file)}
        ) from error
    if not known:
        raise Invalid(
            {
                "file": _(
                    "%(file)s was written by a later version of this planner (%(version)s). Install that version"
                    " first.",
                    file=file,
                    version=manifest.version,
                )
            }
        )
    if not whole:
        raise _damaged(str(file), _MANIFEST)
    return manifest


def _entry(table: str) -> str:
    return f"tables/{table}.jsonl"


def _damaged(file: str | None, part: str) -> Invalid:
    return Invalid(
        {
            "file": _(
                "%(file)s is damaged: %(part)s is not what was written. Nothing was changed; take another backup.",
                file=file or "",
                part=part,
            )
        }
    )
