"""Settings, read once from ``NURSERY_*`` variables; every setting is listed here and in README.md."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Settings:
    """What the product needs to know of its surroundings."""

    database_url: str
    data_dir: Path
    secret_key: str
    locale: str = "en"
    person: str = "coordinator"
    demo: bool = False
    #: Where phones find this nursery, for codes on labels; empty takes the address that a page was reached by.
    address: str = ""


def data_dir(environ: Mapping[str, str] = os.environ) -> Path:
    """Folder of this nursery's own files: ``NURSERY_DATA_DIR`` or ``~/.native-nursery``."""
    return Path(environ.get("NURSERY_DATA_DIR") or Path.home() / ".native-nursery")


def read_settings(environ: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings; README.md tells what each variable means."""
    folder = data_dir(environ)
    return Settings(
        database_url=environ.get("NURSERY_DATABASE_URL") or f"sqlite:///{folder / 'nursery.sqlite'}",
        data_dir=folder,
        secret_key=environ.get("NURSERY_SECRET_KEY") or _kept_secret(folder),
        locale=environ.get("NURSERY_LOCALE", "en"),
        person=environ.get("NURSERY_PERSON", "coordinator"),
        address=environ.get("NURSERY_ADDRESS", "").rstrip("/"),
    )


def _kept_secret(folder: Path) -> str:
    """The session secret of this installation, made once and kept readable to its owner only."""
    file = folder / "secret-key"
    if not file.exists():
        folder.mkdir(parents=True, exist_ok=True)
        file.touch(mode=0o600)
        file.write_text(secrets.token_hex(32), encoding="ascii")
    return file.read_text(encoding="ascii").strip()
