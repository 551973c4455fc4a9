"""Settings, read once from ``NURSERY_*`` variables; every setting is listed here and in README.md."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from nursery.errors import Invalid
from nursery.i18n import gettext as _

#: Whoever believes more of them counts what a stranger wrote.
MOST_PROXIES = 5


@dataclass(frozen=True, slots=True)
class Settings:
    """What the product needs to know of its surroundings."""

    database_url: str
    data_dir: Path
    secret_key: str
    locale: str = "en"
    person: str = "coordinator"
    demo: bool = False
    #: Where others find this nursery; empty while it answers on this machine only.
    address: str = ""
    #: How many web servers hand requests on, each adding whom it had them from.
    proxies: int = 0

    @property
    def is_https(self) -> bool:
        """Whether people reach the pages over HTTPS, whatever the last step to us is."""
        return self.address.lower().startswith("https://")


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
        address=environ.get("NURSERY_ADDRESS", "").strip().rstrip("/"),
        proxies=_proxies(environ.get("NURSERY_PROXIES", "").strip() or "0"),
    )


def _proxies(typed: str) -> int:
    if not typed.isdecimal() or int(typed) > MOST_PROXIES:
        raise Invalid(
            {
                "NURSERY_PROXIES": _(
                    "NURSERY_PROXIES is “%(typed)s”, but the number of web servers before the planner is from 0 to"
                    " %(most)s.",
                    typed=typed,
                    most=MOST_PROXIES,
                )
            }
        )
    return int(typed)


def _kept_secret(folder: Path) -> str:
    """The session secret of this installation, made once and kept readable to its owner only."""
    file = folder / "secret-key"
    if not file.exists():
        folder.mkdir(parents=True, exist_ok=True)
        file.touch(mode=0o600)
        file.write_text(secrets.token_hex(32), encoding="ascii")
    return file.read_text(encoding="ascii").strip()
