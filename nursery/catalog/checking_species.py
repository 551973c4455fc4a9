"""The check of one species file."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any

from nursery.catalog import cautions, vocabulary
from nursery.catalog.building import PLAIN_SECTIONS
from nursery.catalog.checking_figures import FigureCheck
from nursery.catalog.checking_protocols import check_protocols
from nursery.catalog.messages import Report
from nursery.catalog.shape import RULES
from nursery.i18n import LOCALES
from nursery.i18n import gettext as _

YES_NO = ("dioecious", "spiny", "toxic")
TEXTS = ("scientific_name", "authorship", "family")
REQUIRED = (
    *TEXTS,
    "synonyms",
    "habit",
    "cautions",
    *YES_NO,
    "common_names",
    *PLAIN_SECTIONS,
    "protocols",
    "evidence",
)
OPTIONAL = ("note", "regulated_as")
EVIDENCE_KEYS = ("field", "value", "unit", "where")
_KEY = re.compile(r"[a-z]+(-[a-z]+)+")


def check_species(key: str, record: dict[str, Any], sources: Collection[str], report: Report) -> None:
    """Note every fault of one file's table."""
    if not _KEY.fullmatch(key):
        report.add("", key, _("Name the file after genus and epithet, in small letters with hyphens."))
    report.table(record, "", required=REQUIRED, optional=OPTIONAL)
    for name in (*TEXTS, *OPTIONAL):
        report.text(record, "", name)
    report.text(record, "", "habit", vocabulary.HABITS)
    report.texts(record, "", "synonyms")
    report.texts(record, "", "cautions", cautions.CAUTIONS)
    figures = FigureCheck(report, sources, _check_evidence(record.get("evidence"), sources, report))
    for name in YES_NO:
        if name in record:
            figures.check(name, record[name])
    _check_common_names(record.get("common_names", {}), report)
    _check_sections(record, figures, report)
    check_protocols(record, figures, report)


def _check_common_names(table: Any, report: Report) -> None:
    if report.table(table, "common_names", required=(), optional=LOCALES):
        for code in LOCALES:
            report.texts(table, "common_names", code)


def _check_sections(record: dict[str, Any], figures: FigureCheck, report: Report) -> None:
    for section in PLAIN_SECTIONS:
        rules = {path.partition(".")[2]: rule for path, rule in RULES.items() if path.startswith(f"{section}.")}
        words = ("temperature", "moisture") if section == "storage" else ()
        required = [name for name, rule in rules.items() if rule.required]
        table = record.get(section)
        if table is None or not report.table(
            table, section, required=(*required, *words), optional=(*rules, "note")
        ):
            continue
        for name in words:
            report.text(table, section, name, vocabulary.STORAGE_WORDS)
        report.text(table, section, "note")
        for name in rules:
            if name in table:
                figures.check(f"{section}.{name}", table[name])


def _check_evidence(table: Any, sources: Collection[str], report: Report) -> frozenset[str]:
    """Note faults of the evidence; give the sources it comes from."""
    if table is None or not report.table(table, "evidence", required=("rows",)):
        return frozenset()
    cited = set()
    for number, row in enumerate(report.rows(table.get("rows"), "evidence.rows"), start=1):
        path = f"evidence.rows.{number}"
        if report.table(row, path, required=EVIDENCE_KEYS, optional=("source", "memory")):
            _check_evidence_row(row, path, sources, report)
            cited.add(str(row.get("source")))
    return frozenset(cited)


def _check_evidence_row(row: dict[str, Any], path: str, sources: Collection[str], report: Report) -> None:
    for name in ("field", "unit", "where"):
        report.text(row, path, name)
    memory, source = row.get("memory", False), row.get("source")
    if not isinstance(memory, bool):
        report.add(f"{path}.memory", memory, _("Write true or false."))
    elif memory and source is not None:
        report.add(f"{path}.source", source, _("A row from memory cites no source; remove one of the two."))
    elif not memory and str(source) not in sources:
        remedy = _("The source is not in sources.toml; add it there, or mark the row memory = true.")
        report.add(f"{path}.source", source, remedy)
    if isinstance(row.get("value"), bool | list | dict):
        report.add(f"{path}.value", row["value"], _("Write a number or a text."))
