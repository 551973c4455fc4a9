"""Moving a whole nursery to another database, as from a SQLite file to a PostgreSQL server."""

from __future__ import annotations

import tempfile
from pathlib import Path

from sqlalchemy import Engine

from nursery.errors import Conflict
from nursery.i18n import gettext as _
from nursery.services.safekeeping.archives import Manifest, back_up
from nursery.services.safekeeping.fingerprints import contents, snapshot
from nursery.services.safekeeping.restoring import restore


def move(engine: Engine, address: str) -> Manifest:
    """Bring everything into the empty database at ``address``; what is moved from stays as it is.

    Raises
    ------
    Conflict
        When the database at ``address`` holds records, or when somebody wrote into this one meanwhile.
    """
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "moving.zip"
        manifest = back_up(engine, file)
        restore(file, address)
    with snapshot(engine) as connection:
        if contents(connection) != manifest.tables:
            raise Conflict(
                _(
                    "Somebody wrote into this database while it was moved, and that is missing in the other. Stop"
                    " the pages, empty the other database, and move again."
                )
            )
    return manifest
