"""The list of targets: what of it is wanted, and its columns in a file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from babel.support import LazyProxy

from nursery.i18n import lazy as _l
from nursery.services.forecast import words
from nursery.services.forecast.promises import Standing, TargetForecast
from nursery.services.listing import whole
from nursery.services.seasons import season_name
from nursery.tabular.writer import Cell, CellKind, Heading


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


#: Columns of the file and of the API: key, what it is called, how it is written, and its width.
COLUMNS: tuple[tuple[str, LazyProxy, CellKind, int], ...] = (
    ("season", _l("Season"), "text", 16),
    ("site", _l("Planting site"), "text", 28),
    ("species", _l("Species"), "text", 28),
    ("standing", _l("How it stands"), "text", 20),
    ("promised", _l("Ready plants promised"), "number", 16),
    ("pending", _l("Still to be sown by the plan"), "number", 16),
    ("sent", _l("Sent out"), "number", 16),
    ("expected", _l("Ready plants expected"), "number", 16),
    ("low", _l("Low (10 %)"), "number", 16),
    ("high", _l("High (90 %)"), "number", 16),
    ("chance", _l("Chance of enough"), "percent", 16),
    ("assurance", _l("Chance asked for"), "percent", 16),
    ("missing", _l("Missing"), "number", 16),
    ("ready_on", _l("Ready"), "date", 16),
    ("since", _l("Since when"), "text", 44),
)


def headings() -> list[Heading]:
    """Of the file; what is expected is a mean, and has a decimal."""
    return [
        Heading(str(label), kind, digits=1 if key == "expected" else None, width=width)
        for key, label, kind, width in COLUMNS
    ]


def cells(targets: Iterable[TargetForecast]) -> Iterator[Sequence[Cell]]:
    """Rows of the file."""
    for one in targets:
        now = one.now
        yield [
            season_name(one.season), one.site_name, one.species_name, str(words.STANDINGS[one.standing][0]),
            one.promised, one.pending, one.dispatched, now.expected, now.p10, now.p90, now.chance, one.assurance,
            one.lacking, one.ready_on, words.since(one),
        ]  # fmt: skip
