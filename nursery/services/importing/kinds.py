"""The kinds of file that can be imported."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy

from nursery.errors import NotFound
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot, Planting, Population, Site, Target
from nursery.models.base import Base
from nursery.services.importing import lots, plantings, populations, sites, targets
from nursery.services.importing.columns import Column, Columns
from nursery.services.importing.rows import Row


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of record: its columns, how one is recognised again, and what is checked across columns."""

    key: str
    label: LazyProxy
    #: The columns by which a record is recognised again, in words.
    known_by: LazyProxy
    model: type[Base]
    columns: Columns
    #: From cells to the model's columns: units, defaults that follow from other cells.
    settle: Callable[[Row], None]
    #: Ways in which the row may be recognised, the strongest one first; the empty tuple when it lacks them.
    identities: Callable[[dict[str, Any]], tuple[tuple[Any, ...], ...]]
    #: What is wrong across columns, as {field: message}.
    refuse: Callable[[Row], dict[str, str]]

    def column(self, key: str) -> Column | None:
        """The column of a field."""
        return next((column for column in self.columns if column.key == key), None)


KINDS: dict[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind(
            key="populations",
            label=_l("Populations"),
            known_by=_l("A population is recognised by its code."),
            model=Population,
            columns=populations.COLUMNS,
            settle=populations.settle,
            identities=populations.identities,
            refuse=populations.refuse,
        ),
        Kind(
            key="sites",
            label=_l("Planting sites"),
            known_by=_l("A site is recognised by its code."),
            model=Site,
            columns=sites.COLUMNS,
            settle=sites.settle,
            identities=sites.identities,
            refuse=sites.refuse,
        ),
        Kind(
            key="lots",
            label=_l("Lots"),
            known_by=_l(
                "A lot is recognised by its code; without one, by species, population, ripening year and"
                " collecting day."
            ),
            model=Lot,
            columns=lots.COLUMNS,
            settle=lots.settle,
            identities=lots.identities,
            refuse=lots.refuse,
        ),
        Kind(
            key="targets",
            label=_l("Targets"),
            known_by=_l("A target is recognised by its site, species and season."),
            model=Target,
            columns=targets.COLUMNS,
            settle=targets.settle,
            identities=targets.identities,
            refuse=targets.refuse,
        ),
        Kind(
            key="plantings",
            label=_l("Plantings"),
            known_by=_l(
                "A planting is recognised by its site, lot and day, and by its batch where it is told;"
                " replacements stand by themselves."
            ),
            model=Planting,
            columns=plantings.COLUMNS,
            settle=plantings.settle,
            identities=plantings.identities,
            refuse=plantings.refuse,
        ),
    )
}


def find_kind(key: str) -> Kind:
    """The kind with this key; raises NotFound."""
    if key not in KINDS:
        raise NotFound(
            _("There is no import of “%(kind)s”. Choose populations, sites, lots, targets or plantings.", kind=key)
        )
    return KINDS[key]
