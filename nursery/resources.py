"""Where templates, migrations and the seed catalogue live: inside the package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    inside = _PACKAGE / name
    if inside.is_dir():
        return inside
    beside = _PACKAGE.parent / name
    # Only a checkout has pyproject.toml beside the package; a foreign site-packages/templates must not be used.
    if beside.is_dir() and (_PACKAGE.parent / "pyproject.toml").is_file():
        return beside
    raise FileNotFoundError(f"{name} is neither in {inside} nor in {beside}; reinstall the package")


def templates() -> Path:
    """Folder of the page templates."""
    return _folder("templates")


def migrations() -> Path:
    """Folder of the database migrations."""
    return _folder("migrations")


def seed_catalog() -> Path:
    """Folder of the species catalogue."""
    return _folder("seed_catalog")
