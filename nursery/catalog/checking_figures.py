"""The check of one working figure: its kind and bounds, its range, its basis and its sources."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from nursery.catalog import vocabulary
from nursery.catalog.messages import Report
from nursery.catalog.shape import fault, rule_of
from nursery.i18n import gettext as _

BASIS_KEYS = ("low", "high", "basis", "sources", "note")
FIGURE_KEYS = ("value", *BASIS_KEYS)


@dataclass(frozen=True)
class FigureCheck:
    """Checks figures of one file against the works known and those its evidence comes from."""

    report: Report
    sources: Collection[str]
    evidence: Collection[str]

    def check(self, path: str, table: Any) -> None:
        """Note the faults of a figure written as ``{ value = …, basis = … }``."""
        required, optional = ("value", "basis"), ("low", "high", "sources", "note")
        if self.report.table(table, path, required=required, optional=optional):
            if "value" in table:
                self.value(path, table["value"])
            self.range(path, table, "value")
            self.basis(path, table)

    def value(self, path: str, value: object) -> bool:
        """Note a value that the figure's rule refuses; tells whether it is fine."""
        rule = rule_of(path)
        remedy = fault(rule, value) if rule else None
        if remedy:
            self.report.add(path, value, remedy)
        return remedy is None

    def range(self, path: str, table: Mapping[str, Any], main: str) -> None:
        """Note a range that does not hold the value."""
        value = table.get(main)
        for name in ("low", "high"):
            if name in table and not _is_number(table[name]):
                self.report.add(f"{path}.{name}", table[name], _("Write a number."))
                return
        if not _is_number(value):
            if "low" in table or "high" in table:
                self.report.add(path, value, _("Only a number has a range; remove low and high."))
            return
        if not table.get("low", value) <= value <= table.get("high", value):
            shown = f"{table.get('low', '')} ≤ {value} ≤ {table.get('high', '')}"
            self.report.add(path, shown, _("The value must lie from low to high; correct one of the three."))

    def basis(self, path: str, table: Mapping[str, Any]) -> None:
        """Note a basis unknown, a published figure without source, or a source where none can be."""
        if "note" in table and not isinstance(table["note"], str):
            self.report.add(f"{path}.note", table["note"], _("Write a text in quotes."))
        basis, cited = table.get("basis"), table.get("sources", [])
        if basis not in vocabulary.FILE_BASES:
            if "basis" in table:
                wanted = ", ".join(vocabulary.FILE_BASES)
                self.report.add(f"{path}.basis", basis, _("Write one of %(choices)s.", choices=wanted))
            return
        if not isinstance(cited, list) or not all(isinstance(short, str) for short in cited):
            self.report.add(f"{path}.sources", cited, _("Write a list of texts in quotes."))
        elif basis != "seen" and cited:
            remedy = _("A figure from memory or practice cites no source; remove it, or write basis = “seen”.")
            self.report.add(f"{path}.sources", ", ".join(cited), remedy)
        elif basis == "seen":
            self._sources(path, cited)

    def _sources(self, path: str, cited: list[str]) -> None:
        if not cited:
            remedy = _("A published figure needs its source; name it, or write basis = “memory” or “practice”.")
            self.report.add(f"{path}.sources", None, remedy)
        for short in cited:
            if short not in self.sources:
                self.report.add(f"{path}.sources", short, _("The source is not in sources.toml; add it there."))
            elif short not in self.evidence:
                remedy = _("No evidence row of this file comes from the source; add the row, or do not cite it.")
                self.report.add(f"{path}.sources", short, remedy)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
