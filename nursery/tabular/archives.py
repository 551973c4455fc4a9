"""Darwin Core Archives: a core table, extensions around it, ``meta.xml`` that maps columns to terms, and EML."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from nursery.tabular.writer import neutralise
from nursery.tabular.zipping import zipped

DWC = "http://rs.tdwg.org/dwc/terms/"
DCTERMS = "http://purl.org/dc/terms/"
_TEXT = "http://rs.tdwg.org/dwc/text/"
_EML = "https://eml.ecoinformatics.org/eml-2.2.0"
#: Terms of Dublin Core that go by their short names here.
_DUBLIN = {"license", "modified", "language"}
#: Written as they are: a minus before a number is no formula.
_NUMBERS = {
    "decimalLatitude", "decimalLongitude", "minimumElevationInMeters", "maximumElevationInMeters",
    "coordinateUncertaintyInMeters", "individualCount", "organismQuantity",
}  # fmt: skip


@dataclass(frozen=True)
class Terms:
    """A table of the archive: its kind, its terms, and rows by them. The first column is the core's key."""

    file: str
    row_type: str
    key: str
    terms: Sequence[str]
    rows: Sequence[Mapping[str, str]]


@dataclass(frozen=True)
class Dataset:
    """What the EML file says of the whole."""

    title: str
    about: str
    organisation: str
    day: dt.date
    language: str
    #: Title and address of the licence; empty where none was chosen.
    licence: tuple[str, str] | None = None


def write_archive(core: Terms, extensions: Sequence[Terms], dataset: Dataset) -> bytes:
    """The archive as a zip."""
    files = {"meta.xml": _meta(core, extensions), "eml.xml": _eml(dataset)}
    files |= {table.file: _csv(table) for table in (core, *extensions)}
    return zipped(files, dataset.day)


def _csv(table: Terms) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([table.key if table.key not in table.terms else "id", *table.terms])
    for row in table.rows:
        writer.writerow([_cell(name, row.get(name, "")) for name in (table.key, *table.terms)])
    return buffer.getvalue().encode()


def _cell(name: str, text: str) -> str:
    # No line break inside a cell: readers of archives split at line ends before they look for quotation marks.
    plain = " ".join(text.replace("\0", "").split())
    return plain if name in _NUMBERS else neutralise(plain)


def _meta(core: Terms, extensions: Sequence[Terms]) -> bytes:
    root = ET.Element("archive", {"xmlns": _TEXT, "metadata": "eml.xml"})
    _file(ET.SubElement(root, "core", _layout(core)), core, "id")
    for table in extensions:
        _file(ET.SubElement(root, "extension", _layout(table)), table, "coreid")
    return _bytes(root)


def _layout(table: Terms) -> dict[str, str]:
    return {
        "encoding": "UTF-8", "fieldsTerminatedBy": ",", "linesTerminatedBy": "\\r\\n", "fieldsEnclosedBy": '"',
        "ignoreHeaderLines": "1", "rowType": f"{DWC}{table.row_type}",
    }  # fmt: skip


def _file(parent: ET.Element, table: Terms, key: str) -> None:
    ET.SubElement(ET.SubElement(parent, "files"), "location").text = table.file
    ET.SubElement(parent, key, {"index": "0"})
    for number, name in enumerate(table.terms, 1):
        base = DCTERMS if name in _DUBLIN else DWC
        ET.SubElement(parent, "field", {"index": str(number), "term": f"{base}{name}"})


def _eml(told: Dataset) -> bytes:
    head = {
        "xmlns:eml": _EML, "packageId": f"{told.title} {told.day.isoformat()}", "system": "http://gbif.org",
        "scope": "system", "xml:lang": told.language,
    }  # fmt: skip
    root = ET.Element("eml:eml", head)
    dataset = ET.SubElement(root, "dataset")
    ET.SubElement(dataset, "title").text = told.title
    _party(dataset, "creator", told)
    _party(dataset, "metadataProvider", told)
    ET.SubElement(dataset, "pubDate").text = told.day.isoformat()
    ET.SubElement(dataset, "language").text = told.language
    ET.SubElement(ET.SubElement(dataset, "abstract"), "para").text = told.about
    if told.licence:
        title, url = told.licence
        para = ET.SubElement(ET.SubElement(dataset, "intellectualRights"), "para")
        para.text = "This work is licensed under "
        link = ET.SubElement(para, "ulink", {"url": url})
        ET.SubElement(link, "citetitle").text = title
        licensed = ET.SubElement(dataset, "licensed")  # new in EML 2.2: what machines read instead of the sentence
        ET.SubElement(licensed, "licenseName").text = title
        ET.SubElement(licensed, "url").text = url
    _party(dataset, "contact", told)
    return _bytes(root)


def _party(dataset: ET.Element, role: str, told: Dataset) -> None:
    ET.SubElement(ET.SubElement(dataset, role), "organizationName").text = told.organisation


def _bytes(root: ET.Element) -> bytes:
    ET.indent(root)
    written: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return written
