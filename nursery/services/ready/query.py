"""What a person asks of the season's stock; nonsense in an address counts as not asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from nursery.i18n import lazy as _l
from nursery.services.listing import whole


class By(StrEnum):
    """How the stock is grouped."""

    SPECIES = "species"
    CONTAINER = "container"
    GRADE = "grade"
    ORIGIN = "origin"
    SITE = "site"
    BATCH = "batch"


#: Names of the groupings, as tabs and as headings of their first column.
LABELS = {
    By.SPECIES: _l("Species"),
    By.CONTAINER: _l("Container"),
    By.GRADE: _l("Size grade"),
    By.ORIGIN: _l("Origin"),
    By.SITE: _l("Planting site"),
    By.BATCH: _l("Batch"),
}
#: The same as titles of tables.
TITLES = {
    By.SPECIES: _l("By species"),
    By.CONTAINER: _l("By container"),
    By.GRADE: _l("By size grade"),
    By.ORIGIN: _l("By origin"),
    By.SITE: _l("By planting site"),
    By.BATCH: _l("Batch by batch"),
}
#: Groupings in which what is wanted has a place: nobody asks for a size, an origin or a batch.
WITH_WANTS = frozenset({By.SPECIES, By.CONTAINER, By.SITE})
#: Columns that may be sorted by, beside the first.
SORTS = ("wanted", "sent", "ready", "expected", "allocated", "free", "to_sow", "short")


@dataclass(frozen=True, slots=True)
class ReadyQuery:
    """A season, what is left out of it, and the order of the rows."""

    season: int | None = None
    by: By = By.SPECIES
    species: int | None = None
    site: int | None = None
    nursery: str = ""
    sort: str = ""

    @classmethod
    def of(cls, args: Mapping[str, str]) -> ReadyQuery:
        """From what an address carries."""
        by, sort = args.get("by", ""), args.get("sort", "")
        return cls(
            season=_number(args.get("season", "")),
            by=By(by) if by in set(By) else By.SPECIES,
            species=_number(args.get("species", "")),
            site=_number(args.get("site", "")),
            nursery=args.get("nursery", "").replace("\0", "")[:120],
            sort=sort if sort.removeprefix("-") in {*SORTS, "name"} else "",
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether anything of the season is left out."""
        return self.species is not None or self.site is not None or bool(self.nursery)


def _number(text: str) -> int | None:
    try:
        return whole(text)
    except ValueError:
        return None
