"""The tables of a dossier as a data package."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nursery.errors import Invalid
from nursery.i18n import current_locale, format_date
from nursery.i18n import gettext as _
from nursery.services.dossier.gaps import Gap, find_gaps
from nursery.services.dossier.gathering import Dossier
from nursery.services.dossier.naming import title_of
from nursery.tabular.packages import Column, Package, Table, write_package

#: Licences by their Open Definition identifiers: title and address.
LICENCES: dict[str, tuple[str, str]] = {
    "CC-BY-4.0": ("Creative Commons Attribution 4.0", "https://creativecommons.org/licenses/by/4.0/"),
    "CC-BY-NC-4.0": (
        "Creative Commons Attribution-NonCommercial 4.0", "https://creativecommons.org/licenses/by-nc/4.0/"
    ),
    "CC0-1.0": ("CC0 1.0", "https://creativecommons.org/publicdomain/zero/1.0/"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Terms:
    """Under which licence data go out, and who is named for them, as a person typed it in."""

    licence: str = ""
    contributors: Sequence[str] = ()

    def check(self) -> Terms:
        """Itself, or ``Invalid`` at ``licence``."""
        if self.licence and self.licence not in LICENCES:
            raise Invalid({"licence": _("“%(name)s” is none of the licences. Choose one.", name=self.licence)})
        return self


def read_terms(licence: str, contributors: str) -> Terms:
    """From a form: names with semicolons between them."""
    names = [name.strip()[:120] for name in re.split(r"[;\n]", contributors.replace("\0", ""))]
    return Terms(licence.strip(), [name for name in names if name][:20]).check()


def pack(dossier: Dossier, terms: Terms, *, further: Mapping[str, bytes] | None = None) -> bytes:
    """A zip with the CSV files, ``datapackage.json``, and ``further`` files beside them."""
    return write_package(package_of(dossier, terms), further=further)


def package_of(dossier: Dossier, terms: Terms) -> Package:
    """Every table, also empty ones, so that a reader always finds the same files."""
    asked = dossier.asked
    return Package(
        name=_slug(f"dossier-{dossier.subject.code}-{asked.day.isoformat()}"),
        title=title_of(dossier),
        about=_about(dossier),
        day=asked.day,
        version="1.0.0",
        language=current_locale(),
        tables=[*dossier.tables.values(), _gaps_table(find_gaps(dossier))],
        contributors=_contributors(dossier, terms),
        licences=licences_of(terms),
    )


def _gaps_table(gaps: Sequence[Gap]) -> Table:
    """What is missing, a row a record."""
    columns = [
        Column("number", _("Number"), "integer", required=True),
        Column("missing", _("What is missing"), required=True),
        Column("kind", _("In table"), about=_("Of our own records; some go by other names here.")),
        Column("record", _("Record")),
    ]
    found = [(gap, record) for gap in gaps for record in gap.records]
    rows = [(at, gap.title, record.kind, record.label) for at, (gap, record) in enumerate(found, 1)]
    return Table("gaps", _("What is missing"), columns, rows, ("number",))


def licences_of(terms: Terms) -> list[dict[str, str]]:
    """As the property of the standard."""
    if not terms.licence:
        return []
    title, path = LICENCES[terms.licence]
    return [{"name": terms.licence, "path": path, "title": title}]


def _contributors(dossier: Dossier, terms: Terms) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = [{"title": name, "roles": ["contributor"]} for name in terms.contributors]
    if dossier.organisation:
        found.insert(0, {"title": dossier.organisation, "roles": ["publisher"]})
    return found


def _about(dossier: Dossier) -> str:
    told = [
        _("The tables of a dossier, made on %(day)s.", day=format_date(dossier.asked.day, "long")),
        _("Shares are numbers from 0 to 1; weights are in grams; days are ISO 8601; coordinates are WGS 84."),
        _("A text that a spreadsheet would take for a formula has an apostrophe before it."),
    ]
    if any(one.is_sensitive for one in dossier.records.stands) and not dossier.asked.exact:
        told.append(_("Places of sensitive stands are rounded to a tenth of a degree."))
    if dossier.asked.anonymous:
        told.append(_("Names of people are left out."))
    return " ".join(told)


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9._-]+", "-", text.lower()).strip("-")
