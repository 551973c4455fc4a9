"""How figures of the catalogue read to a grower: their names, and their values in the reader's language."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from babel.support import LazyProxy

from nursery.catalog import Figure, FigureValue
from nursery.catalog.vocabulary import RATES, STORAGE_LABELS, phase_label
from nursery.i18n import format_number, format_percent, month_name
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l

_PLAIN: dict[str, LazyProxy] = {
    "dioecious": _l("Male and female on separate plants"),
    "spiny": _l("Spiny or prickly"),
    "toxic": _l("Toxic"),
    "seed.thousand_seed_weight_g": _l("Thousand-seed weight"),
    "seed.purity": _l("Purity after cleaning"),
    "seed.extraction_yield": _l("Clean seed from fruit, by weight"),
    "seed.fruit_kg_per_mother": _l("Fruit from one mother plant"),
    "storage.class": _l("Storage class"),
    "storage.seed_life_days": _l("Days in which viability of seed halves in good storage"),
    "storage.cuttings_life_days": _l("Days in which viability of cuttings halves in good storage"),
    "storage.ke": _l("Viability equation, KE"),
    "storage.cw": _l("Viability equation, CW"),
    "storage.ch": _l("Viability equation, CH"),
    "storage.cq": _l("Viability equation, CQ"),
    "collecting.seed_months": _l("Months for collecting seed"),
    "collecting.cuttings_months": _l("Months for taking cuttings"),
    "collecting.cuttings_per_mother": _l("Cuttings from one mother plant"),
}
_OF_PROTOCOL: dict[str, LazyProxy] = {
    "container_volume_cm3": _l("Cell volume"),
    "seeds_per_cell": _l("Seeds per cell"),
    "sowing_months": _l("Sowing months"),
}
_OF_PHASE: dict[str, LazyProxy] = {
    "days": _l("%(phase)s: days"),
    "degree_days": _l("%(phase)s: degree-days"),
    "base_c": _l("%(phase)s: base temperature"),
    "temperature_c": _l("%(phase)s: temperature"),
}
_FRACTIONS = {"seed.purity", "seed.extraction_yield"}


def is_fraction(path: str) -> bool:
    """Whether the figure is a share of the whole, shown and typed in per cent."""
    return path in _FRACTIONS or path.endswith(".mean")


def figure_label(path: str) -> str:
    """What the figure is called; those of protocols without the protocol's name."""
    if path in _PLAIN:
        return str(_PLAIN[path])
    *_start, group, key, last = ["", "", *path.split(".")]
    if group == "phases":
        return str(_OF_PHASE[last]) % {"phase": phase_label(key)}
    if group == "rates":
        rate = str(RATES.get(key, key))
        return rate if last == "mean" else _("%(rate)s: weight in trials", rate=rate)
    return str(_OF_PROTOCOL.get(last, last))


def value_text(path: str, value: FigureValue, unit: str = "") -> str:
    """The value as a person reads it, with its unit."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, str):
        return str(STORAGE_LABELS.get(value, value))
    if isinstance(value, tuple):
        return months_text(value)
    return number_text(path, value, unit)


def figure_text(figure: Figure) -> str:
    """The value of a figure as a person reads it; a dash where nobody knows it."""
    return "–" if figure.basis == "unknown" else value_text(figure.path, figure.value, figure.unit)


def number_text(path: str, value: float, unit: str) -> str:
    """A number with its unit; a fraction in per cent."""
    if is_fraction(path):
        return format_percent(value, 2)
    return f"{format_number(value, 6)} {unit_text(unit)}".strip()


def range_text(figure: Figure) -> str:
    """How far the figure may lie off, or nothing where that is not known."""
    if figure.low is None or figure.high is None:
        return ""
    low, high = number_text(figure.path, figure.low, ""), number_text(figure.path, figure.high, figure.unit)
    return _("%(low)s to %(high)s", low=low, high=high)


def unit_text(unit: str) -> str:
    """Units that are words are translated; symbols stay."""
    return _("days") if unit == "d" else unit


def months_text(months: Sequence[int]) -> str:
    """Months as spells: “November to January, March”."""
    spells = [
        month_name(run[0], "wide")
        if len(run) == 1
        else _("%(first)s to %(last)s", first=month_name(run[0], "wide"), last=month_name(run[-1], "wide"))
        for run in _runs(months)
    ]
    return _("all year") if len(set(months)) == 12 else ", ".join(spells)


def _runs(months: Iterable[int]) -> list[list[int]]:
    """Months in unbroken runs; one that crosses the new year is not torn."""
    runs: list[list[int]] = []
    for month in sorted(set(months)):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == 12:
        runs[0] = runs.pop() + runs[0]
    return runs
