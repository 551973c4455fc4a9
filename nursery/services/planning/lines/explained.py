"""What an explained number consists of."""

from __future__ import annotations

from dataclasses import dataclass

from nursery.catalog.vocabulary import BASES, RATES
from nursery.i18n import format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.services.planning.lines.reading import LineView
from nursery.services.planning.lines.story import pieces


@dataclass(frozen=True)
class Given:
    """An input of a number: value as text, where it comes from, and the figure of the species it is, if any."""

    label: str
    value: str
    source: str = ""
    figure: str = ""


@dataclass(frozen=True)
class Number:
    """A number of a line, ready to be shown and explained."""

    key: str
    value: str
    title: str
    formula: str = ""
    inputs: tuple[Given, ...] = ()
    source: str = ""
    unit: str = ""


def rate(view: LineView, name: str) -> Given:
    """A stage rate as the plan took it, with its basis and the trials it is worth."""
    mean, weight, basis = view.line.basis["rates"][name]
    stored = f"field_survival_{view.line.basis['survival_year']}" if name == "field_survival" else name
    figure = f"protocols.{view.line.protocol}.rates.{stored}.mean"
    told = ngettext(
        "%(basis)s; worth %(num)s trial", "%(basis)s; worth %(num)s trials", round(weight), basis=BASES[basis]
    )
    cited = view.source_of(figure) if basis == "seen" else ""
    source = _("%(told)s (%(works)s)", told=told, works=cited) if cited else told
    return Given(str(RATES[stored]), format_percent(mean, 1), source, figure)


def shown(label: str, view: LineView, number: int) -> Given:
    """A number of seeds or cuttings as an input."""
    return Given(label, pieces(view, number))


def chance_text(probability: float) -> str:
    """A chance in per cent; a chance is never shown as certain, nor as none where there is one."""
    if probability > 0.99:
        return _("over %(percent)s", percent=format_percent(0.99))
    if 0 < probability < 0.01:
        return _("under %(percent)s", percent=format_percent(0.01))
    return format_percent(probability)
