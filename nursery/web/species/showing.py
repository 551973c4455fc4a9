"""What the page of a species is made of: cautions, chapters of figures, protocols in order, history in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy

from nursery.catalog import Phase, Protocol, SpeciesEntry, caution_text
from nursery.catalog.vocabulary import HABITS, METHODS, RATES, phase_label, protocol_label, storage_words
from nursery.i18n import format_number, language_name
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.species import SpeciesView
from nursery.services.species.evidence import evidence_label
from nursery.services.species.labels import figure_label, value_text
from nursery.services.species.reading import common_name


def anchor(path: str) -> str:
    """Where a figure stands on the page."""
    return "figure-" + path.replace(".", "-")


FILTERS: dict[str, Callable[..., str]] = {
    "caution_text": caution_text,
    "common_name": common_name,
    "evidence_label": evidence_label,
    "figure_anchor": anchor,
    "habit_label": lambda entry: str(HABITS.get(entry.habit, entry.habit)),
    "language_name": language_name,
    "protocol_label": protocol_label,
    "significant": lambda value: format_number(float(f"{value:.3g}")),
    "storage_words": storage_words,
}
_PHASE_PARTS: dict[str, LazyProxy] = {
    "days": _l("Length"),
    "degree_days": _l("Length in degree-days"),
    "base_c": _l("Base temperature"),
    "temperature_c": _l("Temperature"),
}


@dataclass(frozen=True)
class Step:
    """One step of a protocol: its phase, or the sowing between pretreatment and nursery (without a phase)."""

    title: str
    phase: Phase | None
    #: Paths of its figures, each with its label.
    figures: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Chapter:
    """One protocol as the page tells it."""

    protocol: Protocol
    title: str
    method: str
    steps: tuple[Step, ...]
    #: Stage label with the paths of its mean and weight.
    rates: tuple[tuple[str, str, str], ...]
    #: Paths of cell volume, seeds per cell and sowing months, as far as given.
    plain: tuple[str, ...]


def species_cautions(entry: SpeciesEntry) -> list[str]:
    """Keys of the cautions of the species itself; a spiny plant always has its own."""
    return [*(["spiny"] if entry.spiny and "spiny" not in entry.cautions else []), *entry.cautions]


def chapters(entry: SpeciesEntry) -> list[Chapter]:
    """The protocols, the usual one first."""
    return [_chapter(entry, protocol) for protocol in entry.protocols]


def _chapter(entry: SpeciesEntry, protocol: Protocol) -> Chapter:
    at = f"protocols.{protocol.key}"

    def known(*paths: str) -> tuple[str, ...]:
        return tuple(path for path in paths if path in entry.figure_table)

    def step(phase: Phase) -> Step:
        figures = ((f"{at}.phases.{phase.key}.{part}", str(label)) for part, label in _PHASE_PARTS.items())
        return Step(phase_label(phase.key), phase, tuple(one for one in figures if one[0] in entry.figure_table))

    start = _("Sticking the cuttings") if protocol.part == "cuttings" else _("Sowing")
    sowing = Step(start, None, ((f"{at}.sowing_months", _("Months")),))
    return Chapter(
        protocol=protocol,
        title=protocol_label(protocol.name),
        method=str(METHODS[protocol.method]),
        steps=(*map(step, protocol.pretreatment), sowing, *map(step, protocol.nursery)),
        rates=tuple(
            (str(RATES.get(name, name)), f"{at}.rates.{name}.mean", f"{at}.rates.{name}.weight")
            for name in protocol.rates
        ),
        plain=known(f"{at}.container_volume_cm3", f"{at}.seeds_per_cell"),
    )


def history_lines(view: SpeciesView) -> list[dict[str, Any]]:
    """Who set which figure from what to what, newest first."""
    return [
        {
            "at": change.at,
            "person": change.person,
            "reason": (change.details.get("reason") or [None, ""])[1],
            "fields": [
                (_full_label(view, path), _text(path, pair[0]), _text(path, pair[1]))
                for path, pair in change.details.items()
                if path != "reason"
            ],
        }
        for change in view.history
    ]


def _full_label(view: SpeciesView, path: str) -> str:
    if not path.startswith("protocols."):
        return figure_label(path)
    key = path.split(".")[1]
    names = [protocol_label(protocol.name) for protocol in view.entry.protocols if protocol.key == key]
    return _("%(figure)s (%(protocol)s)", figure=figure_label(path), protocol=names[0] if names else key)


def _text(path: str, value: Any) -> str:
    if value is None:
        return _("the catalogue’s figure")
    return value_text(path, tuple(value) if isinstance(value, list) else value)
