"""A figure with all that explains it: where it comes from, how sure it is, what a person set instead and why."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nursery.catalog import Evidence, Figure, Source, SpeciesEntry, load_catalog
from nursery.catalog.shape import Rule, rule_of
from nursery.catalog.vocabulary import BASES
from nursery.i18n import lazy as _l
from nursery.models import Override
from nursery.services.species.evidence import evidence_behind
from nursery.services.species.labels import figure_label, figure_text, range_text

#: Tone of the badge that tells a basis; the badge's words carry the meaning.
_TONES = {
    "seen": "ok",
    "memory": "caution",
    "practice": "waiting",
    "own": "info",
    "learned": "info",
    "unknown": "waiting",
}
_WORDS = {
    "seen": _l("Published"),
    "memory": _l("From memory"),
    "practice": _l("Common practice"),
    "own": _l("Our own"),
    "learned": _l("Learned here"),
    "unknown": _l("Not known"),
}


@dataclass(frozen=True)
class FigureView:
    """One figure as pages show it: in force, of the catalogue, and the person's reason when they differ."""

    figure: Figure
    label: str
    text: str
    range: str
    #: The catalogue's figure, text and range; they stay when a nursery sets its own.
    catalogue: Figure
    catalogue_text: str
    catalogue_range: str
    sources: tuple[Source, ...]
    evidence: tuple[Evidence, ...]
    #: What counts again when a person's own figure is taken back: the learned one, or the catalogue's.
    fallback: Figure
    fallback_text: str
    reason: str = ""
    person: str = ""
    changed_at: dt.datetime | None = None

    @property
    def path(self) -> str:
        """Dotted path of the figure."""
        return self.figure.path

    @property
    def own(self) -> bool:
        """Whether a person set it."""
        return self.figure.own

    @property
    def learned(self) -> bool:
        """Whether it follows from batches seen here."""
        return self.figure.learned

    @property
    def basis_label(self) -> str:
        """What it rests on, in words."""
        return str(BASES[self.figure.basis])

    @property
    def basis_word(self) -> str:
        """The same on a badge."""
        return str(_WORDS[self.figure.basis])

    @property
    def tone(self) -> str:
        """Tone of its badge."""
        return _TONES[self.figure.basis]

    @property
    def catalogue_basis_label(self) -> str:
        """What the catalogue's figure rests on, in words."""
        return str(BASES[self.catalogue.basis])

    @property
    def rule(self) -> Rule:
        """What the figure may be."""
        rule = rule_of(self.path)
        if rule is None:  # pragma: no cover -- every figure of the table has its rule
            raise LookupError(self.path)
        return rule


def view_figure(
    catalogue: SpeciesEntry,
    entry: SpeciesEntry,
    path: str,
    own: Override | None = None,
    learned: SpeciesEntry | None = None,
) -> FigureView:
    """The figure at ``path``; raises NotFound.

    ``catalogue`` holds the figures of the files, ``entry`` those in force, ``learned`` those without any that a
    person set.
    """
    shipped, figure = catalogue.figure(path), entry.figure(path)
    fallback = shipped if learned is None else learned.figure(path)
    sources = load_catalog().sources
    return FigureView(
        figure=figure,
        label=figure_label(path),
        text=figure_text(figure),
        range=range_text(figure),
        catalogue=shipped,
        catalogue_text=figure_text(shipped),
        catalogue_range=range_text(shipped),
        sources=tuple(sources[short] for short in shipped.sources if short in sources),
        evidence=evidence_behind(catalogue, path),
        fallback=fallback,
        fallback_text=figure_text(fallback),
        reason=own.reason if own else "",
        person=own.person if own else "",
        changed_at=own.changed_at if own else None,
    )


def view_figures(
    catalogue: SpeciesEntry,
    entry: SpeciesEntry,
    own: dict[str, Override],
    learned: SpeciesEntry | None = None,
) -> dict[str, FigureView]:
    """Every figure of the species by its path."""
    return {path: view_figure(catalogue, entry, path, own.get(path), learned) for path in catalogue.figure_table}
