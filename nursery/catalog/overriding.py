"""A nursery's own figures, and what it has learned, laid over the catalogue's; the files stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from nursery.catalog.building import build_entry
from nursery.catalog.entries import SpeciesEntry
from nursery.catalog.figures import Figure, FigureValue, missing_figure
from nursery.catalog.shape import fault, rule_of
from nursery.errors import Invalid
from nursery.i18n import gettext as _


def with_overrides(entry: SpeciesEntry, values: Mapping[str, object]) -> SpeciesEntry:
    """The species with these figures replaced, basis ``own``; raises Invalid naming each figure refused.

    Every refusal is told at once, so a person mends the whole form in one go.
    """
    replaced: dict[str, Figure] = {}
    errors: dict[str, str] = {}
    for path, value in values.items():
        message = override_fault(entry, path, value)
        if message:
            errors[path] = message
        else:
            replaced[path] = _own(entry.figure_table[path], value)
    if errors:
        raise Invalid(errors)
    return build_entry(entry.file, entry.record, {**entry.figure_table, **replaced}) if replaced else entry


def with_learned(
    entry: SpeciesEntry, values: Mapping[str, tuple[float, float | None, float | None]]
) -> SpeciesEntry:
    """The species with these figures (value, low, high) replaced by what its batches taught, basis ``learned``.

    A value outside the figure's bounds is taken at the nearer bound; raises NotFound for a figure that is not
    there.
    """
    replaced = {}
    for path, (value, low, high) in values.items():
        figure, rule = entry.figure(path), rule_of(path)
        if rule is not None:
            value = min(max(value, rule.low), rule.high)  # noqa: PLW2901 -- the value meant, within its bounds
        replaced[path] = replace(figure, value=value, low=low, high=high, basis="learned", sources=(), note="")
    return build_entry(entry.file, entry.record, {**entry.figure_table, **replaced}) if replaced else entry


def override_fault(entry: SpeciesEntry, path: str, value: object) -> str | None:
    """Why this value cannot replace the figure at ``path``; None if it can."""
    rule = rule_of(path)
    if path not in entry.figure_table or rule is None:
        return str(missing_figure(path, entry.figure_table))
    remedy = fault(rule, value)
    if remedy is None:
        return None
    return _("“%(value)s” does not fit %(figure)s. %(remedy)s", value=str(value), figure=path, remedy=remedy)


def _own(figure: Figure, value: object) -> Figure:
    plain: FigureValue
    if isinstance(value, list | tuple):
        plain = tuple(int(month) for month in value)
    elif isinstance(value, bool | str):
        plain = value
    elif isinstance(value, int | float):
        plain = float(value)
    else:  # pragma: no cover -- fault() lets nothing else through
        raise TypeError(value)
    return replace(figure, value=plain, low=None, high=None, basis="own", sources=(), note="")
