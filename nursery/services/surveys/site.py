"""Survival at one site: curves over the years for a picture, the same numbers for a table, causes of death."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.documents.survival_chart import Curve, SurvivalWords, survival_svg
from nursery.i18n import gettext as _
from nursery.models import Site, Survey, SurveyPlot
from nursery.services.seasons import season_name
from nursery.services.surveys.survival import SurvivalRow, survival


@dataclass(frozen=True, slots=True)
class SiteSurvival:
    """What the surveys of one planting season say of a site."""

    site: Site
    season: int
    #: All seasons that were surveyed, newest first.
    seasons: Sequence[int]
    #: By species, then year.
    rows: Sequence[SurvivalRow]

    @property
    def years(self) -> Sequence[int]:
        """Years that were surveyed."""
        return sorted({row.year for row in self.rows})

    @property
    def by_species(self) -> Mapping[str, Sequence[SurvivalRow]]:
        """Rows of each species by its name."""
        found: dict[str, list[SurvivalRow]] = {}
        for row in self.rows:
            found.setdefault(row.species, []).append(row)
        return found

    @property
    def causes(self) -> Sequence[tuple[str, int, Sequence[tuple[str, int]]]]:
        """Species, its dead at the last year surveyed, and what killed them, most first."""
        last = {name: rows[-1] for name, rows in self.by_species.items()}
        return [(name, row.dead, list(row.causes.items())) for name, row in last.items() if row.dead]

    @property
    def all_causes(self) -> Sequence[tuple[str, int]]:
        """Causes over all species, each at its last year."""
        sums: Counter[str] = Counter()
        for _name, _dead, causes in self.causes:
            sums.update(dict(causes))
        return sums.most_common()

    def chart(self, *, narrow: bool) -> bytes:
        """The picture."""
        curves = [
            Curve(name, [(row.year, row.rate, row.low, row.high) for row in rows])
            for name, rows in self.by_species.items()
        ]
        words = SurvivalWords(
            _("Survival at %(site)s, planted in %(season)s", site=self.site.name, season=season_name(self.season)),
            _("Alive of the plants first planted"),
            _("Years after planting"),
        )
        return survival_svg(curves, words=words, narrow=narrow)


def read_site(session: Session, site: Site, season: int | None = None) -> SiteSurvival | None:
    """Of the newest season surveyed, or of ``season`` where that was; None where nothing was surveyed."""
    seasons = session.scalars(
        select(Survey.season)
        .join(SurveyPlot, Survey.plot_id == SurveyPlot.id)
        .where(SurveyPlot.site_id == site.id, Survey.withdrawn_at.is_(None))
        .distinct()
        .order_by(Survey.season.desc())
    ).all()
    if not seasons:
        return None
    chosen = season if season is not None and season in seasons else seasons[0]
    return SiteSurvival(site, chosen, seasons, survival(session, chosen, site.id))
