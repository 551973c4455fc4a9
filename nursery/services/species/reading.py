"""One species with everything that its page shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from nursery.catalog import Source, SpeciesEntry, load_catalog, override_fault
from nursery.errors import NotFound
from nursery.i18n import current_locale
from nursery.i18n import gettext as _
from nursery.models import Change, Override, Species
from nursery.services import auditing
from nursery.services.catalogue import entry_in_force
from nursery.services.learned.batches import Batch, read_batches
from nursery.services.learned.rates import entry_with_batches
from nursery.services.species.figures import FigureView, view_figures


@dataclass(frozen=True)
class SpeciesView:
    """A species: the catalogue's entry, the one in force, its figures explained, and who changed what."""

    row: Species
    catalogue: SpeciesEntry
    entry: SpeciesEntry
    figures: dict[str, FigureView]
    #: What the nursery has seen of its rates, batch by batch.
    batches: Sequence[Batch]
    #: Own figures that the present catalogue has no place for any more; they count for nothing.
    outdated: Sequence[Override]
    history: Sequence[Change]

    @property
    def own(self) -> list[FigureView]:
        """Figures that this nursery set."""
        return [figure for figure in self.figures.values() if figure.own]

    @property
    def learned(self) -> list[FigureView]:
        """Rates in force that follow from batches seen here; their weights are left out."""
        return [f for f in self.figures.values() if f.learned and not f.path.endswith(".weight")]

    @property
    def sources(self) -> list[Source]:
        """The works that the figures and their evidence cite."""
        cited = {short for figure in self.catalogue.figure_table.values() for short in figure.sources}
        cited |= {row.source for row in self.catalogue.evidence if row.source}
        known = load_catalog().sources
        return [known[short] for short in sorted(cited, key=str.casefold) if short in known]


def read_species(session: Session, name: str) -> SpeciesView:
    """The species of that key (or the id of its row), or NotFound."""
    row = find_row(session, name)
    shipped = load_catalog().species.get(row.key)
    if shipped is None:
        raise NotFound(_("%(name)s is no longer in the catalogue.", name=row.scientific_name))
    own = {
        override.figure: override
        for override in session.scalars(
            select(Override).where(Override.species_id == row.id).order_by(Override.id)
        )
    }
    good = {path: one for path, one in own.items() if override_fault(shipped, path, one.value) is None}
    batches = read_batches(session, [row.id]).get(row.id, ())
    entry = entry_in_force(shipped, batches, {path: one.value for path, one in good.items()})
    return SpeciesView(
        row=row,
        catalogue=shipped,
        entry=entry,
        figures=view_figures(shipped, entry, good, entry_with_batches(shipped, batches)),
        batches=batches,
        outdated=[one for path, one in own.items() if path not in good],
        history=auditing.history(session, row),
    )


def find_row(session: Session, name: str) -> Species:
    """The species' row by key or id, or NotFound."""
    wanted = [Species.key == name]
    if name.isascii() and name.isdigit() and len(name) < 10:
        wanted.append(Species.id == int(name))
    row = session.scalar(select(Species).where(or_(*wanted)))
    if row is None:
        raise NotFound(_("The catalogue has no species “%(name)s”.", name=name))
    return row


def common_name(entry: SpeciesEntry) -> str:
    """The common name in the reader's language, else in any other that has one."""
    names = entry.common_names
    for code in (current_locale(), "en", *names):
        if names.get(code):
            return names[code][0]
    return ""
