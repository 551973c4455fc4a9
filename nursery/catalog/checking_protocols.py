"""The check of a species' protocols."""

from __future__ import annotations

from typing import Any

from nursery.catalog import cautions, vocabulary
from nursery.catalog.building import PHASE_FIGURES
from nursery.catalog.checking_figures import BASIS_KEYS, FigureCheck
from nursery.catalog.messages import Report
from nursery.i18n import gettext as _

TEXTS = ("key", "name", "method", "age_class")
FIGURES = ("sowing_months", "container_volume_cm3")
REQUIRED = (*TEXTS, *FIGURES, "nursery", "rates")
OPTIONAL = ("note", "seeds_per_cell", "pretreatment")


def check_protocols(record: dict[str, Any], figures: FigureCheck, report: Report) -> None:
    """Note every fault of the protocols; a file without any has one."""
    seen: set[object] = set()
    for number, protocol in enumerate(report.rows(record.get("protocols"), "protocols"), start=1):
        key = protocol.get("key", number) if isinstance(protocol, dict) else number
        path = f"protocols.{key}"
        if not report.table(protocol, path, required=REQUIRED, optional=OPTIONAL):
            continue
        if str(key) in seen:
            report.add(f"{path}.key", key, _("Two protocols have this key; give each its own."))
        seen.add(str(key))
        _check_protocol(protocol, path, figures, report)
        if protocol.get("method") == "cuttings":
            _check_cuttings(record, report)


def _check_protocol(protocol: dict[str, Any], path: str, figures: FigureCheck, report: Report) -> None:
    for name in ("key", "age_class", "note"):
        report.text(protocol, path, name)
    report.text(protocol, path, "name", vocabulary.PROTOCOL_NAMES)
    report.text(protocol, path, "method", vocabulary.METHODS)
    for name in (*FIGURES, "seeds_per_cell"):
        if name in protocol:
            figures.check(f"{path}.{name}", protocol[name])
    phases = []
    for name, known in (("pretreatment", vocabulary.PRETREATMENT_PHASES), ("nursery", vocabulary.NURSERY_PHASES)):
        if name in protocol:
            phases += [(row, known) for row in report.rows(protocol[name], f"{path}.{name}")]
    seen: set[object] = set()
    for row, known in phases:
        if not isinstance(row, dict):
            report.add(f"{path}.phases", row, _("Write a table of keys and values."))
            continue
        _check_phase(row, f"{path}.phases.{row.get('key', '')}", list(known), figures, report)
        if str(row.get("key")) in seen:
            report.add(f"{path}.phases", row.get("key"), _("A phase can be in a protocol only once."))
        seen.add(str(row.get("key")))
    _check_rates(protocol.get("rates"), f"{path}.rates", figures, report)


def _check_phase(row: dict[str, Any], path: str, known: list[str], figures: FigureCheck, report: Report) -> None:
    optional = (*PHASE_FIGURES, "low", "high", "sources", "note", "caution")
    report.table(row, path, required=("key", "basis"), optional=optional)
    report.text(row, path, "key", known)
    report.text(row, path, "caution", cautions.CAUTIONS)
    if ("days" in row) == ("degree_days" in row):
        report.add(path, None, _("Give either days, or degree_days with base_c."))
    if ("degree_days" in row) != ("base_c" in row):
        report.add(path, None, _("degree_days and base_c go together."))
    for name in PHASE_FIGURES:
        if name in row:
            figures.value(f"{path}.{name}", row[name])
    figures.range(path, row, "days" if "days" in row else "degree_days")
    figures.basis(path, row)


def _check_rates(table: Any, path: str, figures: FigureCheck, report: Report) -> None:
    if table is None or not report.table(table, path, required=tuple(vocabulary.RATES)):
        return
    for name, rate in table.items():
        at = f"{path}.{name}"
        optional = [key for key in BASIS_KEYS if key != "basis"]
        if name not in vocabulary.RATES or not report.table(
            rate, at, required=("mean", "weight", "basis"), optional=optional
        ):
            continue
        for key in ("mean", "weight"):
            if key in rate:
                figures.value(f"{at}.{key}", rate[key])
        figures.range(at, rate, "mean")
        for key in ("low", "high"):
            if _outside(rate.get(key, 0)):
                report.add(f"{at}.{key}", rate[key], _("Write a fraction from 0 to 1."))
        figures.basis(at, rate)


def _check_cuttings(record: dict[str, Any], report: Report) -> None:
    for section, name in (("collecting", "cuttings_months"), ("storage", "cuttings_life_days")):
        table = record.get(section)
        if isinstance(table, dict) and name not in table:
            report.add(f"{section}.{name}", None, _("A protocol by cuttings needs it; add it."))


def _outside(value: object) -> bool:
    return isinstance(value, int | float) and not 0 <= value <= 1
