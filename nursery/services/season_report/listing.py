"""The list of reports that were made."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from nursery.i18n import LOCALES, language_name
from nursery.i18n import lazy as _l
from nursery.models import SeasonReport
from nursery.services.listing import Column, Filter, Listing, whole
from nursery.services.season_report.making import read_seasons
from nursery.services.seasons import season_name

#: Each language by its own name for itself.
LANGUAGES: dict[str, Any] = {code: language_name(code) for code in LOCALES}


def _seasons(session: Session) -> list[tuple[str, str]]:
    return [(str(season), season_name(season)) for season in read_seasons(session)]


LISTING = Listing(
    model=SeasonReport,
    order="-made",
    columns=(
        Column(
            "season", _l("Season"), SeasonReport.season, "season",
            link=("season_reports.detail", SeasonReport.id),
        ),
        Column("as_of", _l("As known on"), SeasonReport.as_of, "date"),
        Column("language", _l("Language"), SeasonReport.language, "choice", choices=LANGUAGES),
        Column("person", _l("Made by"), SeasonReport.person),
        Column("made", _l("Made at"), SeasonReport.at, "moment"),
        Column("digest", _l("Digest of the figures"), SeasonReport.digest, "code", on_screen=False),
    ),
    search=(SeasonReport.person, SeasonReport.digest),
    filters=(Filter("season", _l("Season"), SeasonReport.season, _seasons, parse=whole),),
)  # fmt: skip
