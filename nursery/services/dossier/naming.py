"""What a dossier is called."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.models import Site
from nursery.services.dossier.gathering import Dossier
from nursery.services.seasons import season_name


def title_of(dossier: Dossier) -> str:
    """Of its first page, its package and its file."""
    subject, season = dossier.subject, dossier.asked.season
    if isinstance(subject, Site):
        name = _("Dossier of site %(code)s, %(name)s", code=subject.code, name=subject.name)
    else:
        name = _("Dossier of lot %(code)s", code=subject.code)
    if season is None:
        return name
    return _("%(dossier)s, season %(season)s", dossier=name, season=season_name(season))


def file_name(dossier: Dossier, ending: str) -> str:
    """Of a download."""
    subject, season = dossier.subject, dossier.asked.season
    parts = [_("Dossier"), subject.code, season_name(season) if season is not None else ""]
    name = " ".join(part for part in parts if part).replace("/", "-")
    return f"{name} {dossier.asked.day.isoformat()}.{ending}"
