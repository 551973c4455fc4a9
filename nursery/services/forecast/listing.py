"""The list of targets: what of it is wanted, and its columns in a file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nursery.i18n import gettext as _
from nursery.services.forecast import words
from nursery.services.forecast.promises import Standing, TargetForecast
from nursery.services.listing import whole
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, Heading


@dataclass(frozen=True, slots=True)
class ForecastQuery:
    """What a person asks for; nonsense counts as not asked."""

    season: int | None = None
    q: str = ""
    standing: Standing | None = None

    @classmethod
    def of(cls, args: Mapping[str, str]) -> ForecastQuery:
        """From what an address carries."""
        try:
            season = whole(args.get("season", ""))
        except ValueError:
            season = None
        text = args.get("standing", "")
        standing = Standing(text) if text in set(Standing) else None
        return cls(season, args.get("q", "").replace("\0", " ").strip()[:200], standing)

    @property
    def is_asked(self) -> bool:
        """Whether anything is left out."""
        return bool(self.q) or self.season is not None or self.standing is not None


def wanted(targets: Iterable[TargetForecast], query: ForecastQuery) -> list[TargetForecast]:
    """Those asked for, in their order."""
    asked = query.q.casefold().split()
    return [
        one
        for one in targets
        if query.season in {None, one.season}
        and query.standing in {None, one.standing}
        and all(word in f"{one.species_name} {one.site_name}".casefold() for word in asked)
    ]


def choices(targets: Iterable[TargetForecast]) -> list[int]:
    """Seasons to choose from."""
    return sorted({one.season for one in targets})


def headings() -> list[Heading]:
    """Of the file."""
    return [
        Heading(_("Season")), Heading(_("Planting site"), width=28), Heading(_("Species"), width=28),
        Heading(_("How it stands"), width=20), Heading(_("Ready plants promised"), "number"),
        Heading(_("Still to be sown by the plan"), "number"), Heading(_("Sent out"), "number"),
        Heading(_("Ready plants expected"), "number", digits=1), Heading(_("Low (10 %)"), "number"),
        Heading(_("High (90 %)"), "number"), Heading(_("Chance of enough"), "percent"),
        Heading(_("Chance asked for"), "percent"), Heading(_("Missing"), "number"), Heading(_("Ready"), "date"),
        Heading(_("Since when"), width=44),
    ]  # fmt: skip


def cells(targets: Iterable[TargetForecast]) -> Iterator[Sequence[Cell]]:
    """Rows of the file."""
    for one in targets:
        now = one.now
        yield [
            season_name(one.season), one.site_name, one.species_name, str(words.STANDINGS[one.standing][0]),
            one.promised, one.pending, one.dispatched, now.expected, now.p10, now.p90, now.chance, one.assurance,
            one.lacking, one.ready_on, words.since(one),
        ]  # fmt: skip
