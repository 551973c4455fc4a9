"""Lots as rows of the Multi-Crop Passport Descriptors, version 2.1 (Alercia, Diulgheroff and Mackay 2015).

What a nursery does not know stays empty. The choices of SAMPSTAT, COLLSRC and STORAGE by what our records say are
our own reading of the code lists, told beside each.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from nursery.catalog.reading import load_catalog
from nursery.models import Lot, Population, StoragePlace
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Basic
from nursery.services.exchange.countries import alpha_3
from nursery.services.exchange.degrees import latitude_dms, longitude_dms
from nursery.services.exchange.selecting import Selected, told_place
from nursery.services.exchange.taxa import split_name
from nursery.services.ledger.shares import OriginShare, lot_origins
from nursery.tabular.writer import neutralise

DESCRIPTORS = (
    "PUID", "INSTCODE", "ACCENUMB", "COLLNUMB", "COLLCODE", "COLLNAME", "COLLINSTADDRESS", "COLLMISSID", "GENUS",
    "SPECIES", "SPAUTHOR", "SUBTAXA", "SUBTAUTHOR", "CROPNAME", "ACCENAME", "ACQDATE", "ORIGCTY", "COLLSITE",
    "DECLATITUDE", "LATITUDE", "DECLONGITUDE", "LONGITUDE", "COORDUNCERT", "COORDDATUM", "GEOREFMETH", "ELEVATION",
    "COLLDATE", "BREDCODE", "BREDNAME", "SAMPSTAT", "ANCEST", "COLLSRC", "DONORCODE", "DONORNAME", "DONORNUMB",
    "OTHERNUMB", "DUPLSITE", "DUPLINSTNAME", "STORAGE", "MLSSTAT", "REMARKS",
)  # fmt: skip
#: Written as they are: a negative number is no formula, and a hyphen stands for what is not known.
_EXACT = {"DECLATITUDE", "DECLONGITUDE", "ELEVATION", "COORDUNCERT"}
_SETTLED = {IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS}
#: Of material that is not simply wild: 416 clonal selection, 400 breeding and research material.
_SELECTED = {Basic.CLONE: "416", Basic.CLONAL_MIXTURE: "416", Basic.SEED_ORCHARD: "400", Basic.PARENTS: "400"}
#: 11 forest or woodland for a stand, 10 wild habitat for a seed source, 99 for what people set up.
_SOURCES = {Basic.STAND: "11", Basic.SEED_SOURCE: "10"}


def mcpd_csv(session: Session, selected: Selected) -> bytes:
    """UTF-8, commas, CRLF; one row a lot."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(DESCRIPTORS)
    for row in mcpd_rows(session, selected):
        writer.writerow([_cell(name, row.get(name, "")) for name in DESCRIPTORS])
    return buffer.getvalue().encode()


def _cell(name: str, text: str) -> str:
    return text if name in _EXACT else neutralise(text.replace("\0", ""))


def mcpd_rows(session: Session, selected: Selected) -> list[dict[str, str]]:
    """Descriptors by their names; what is empty is left out."""
    origins = lot_origins(session, selected.lots)
    return [_row(lot, origins[lot.id], selected) for lot in selected.lots]


def _row(lot: Lot, origins: Sequence[OriginShare], selected: Selected) -> dict[str, str]:
    stand, institute = lot.population, selected.wanted.institute
    own = not lot.is_received
    made = [one.lot.id for one in origins] != [lot.id]
    row = {
        "INSTCODE": institute,
        "ACCENUMB": lot.code,
        "COLLCODE": institute if own else "",
        "COLLNAME": selected.organisation if own else "",
        "COLLMISSID": lot.trip.code if lot.trip else "",
        "CROPNAME": _common_name(lot),
        "ACQDATE": day_text([lot.collected_on]) if own and not made else "",
        "ORIGCTY": alpha_3(selected.country_of(stand)),
        "COLLDATE": day_text([one.lot.collected_on for one in origins]),
        "SAMPSTAT": _status(stand),
        "ANCEST": "; ".join(f"{one.lot.code} {one.share:.1%}" for one in origins) if made else "",
        "COLLSRC": _SOURCES.get(stand.basic_material, "99"),
        "STORAGE": _storage(lot, lot.storage_place),
        "REMARKS": _remarks(lot),
        **_taxon(lot),
    }
    one_stand = len({one.lot.population_id for one in origins}) == 1
    return row | (_place(stand) if one_stand else {})


def _taxon(lot: Lot) -> dict[str, str]:
    taxon, author = split_name(lot.species.scientific_name), lot.species.authorship
    return {
        "GENUS": taxon.genus,
        "SPECIES": taxon.epithet or "sp.",
        "SPAUTHOR": "" if taxon.below else author,
        "SUBTAXA": taxon.below,
        "SUBTAUTHOR": author if taxon.below else "",
    }


def _place(stand: Population) -> dict[str, str]:
    """Of a mixture of several stands no one place is told."""
    told, coarse = told_place(stand), stand.is_sensitive
    where = ", ".join(text for text in (stand.name, stand.basin) if text)
    return {
        "COLLSITE": stand.basin if coarse else where,
        "DECLATITUDE": f"{told.latitude:.1f}" if coarse else str(round(told.latitude, 6)),
        "LATITUDE": latitude_dms(told.latitude, coarse=coarse),
        "DECLONGITUDE": f"{told.longitude:.1f}" if coarse else str(round(told.longitude, 6)),
        "LONGITUDE": longitude_dms(told.longitude, coarse=coarse),
        "COORDUNCERT": str(told.metres) if told.metres is not None else "",
        "COORDDATUM": "WGS84",
        "ELEVATION": "" if coarse or stand.elevation_m is None else f"{stand.elevation_m:.0f}",
    }


def _status(stand: Population) -> str:
    """110 natural where the stand belongs there, 120 semi-natural where it was brought, 100 wild where unknown."""
    if stand.basic_material in _SELECTED:
        return _SELECTED[stand.basic_material]
    if stand.indigenous_status in _SETTLED:
        return "110"
    return "120" if stand.indigenous_status is IndigenousStatus.NON_INDIGENOUS else "100"


def _storage(lot: Lot, place: StoragePlace | None) -> str:
    """11 short, 12 medium, 13 long term by the warmth of the place (limits from memory of gene-bank practice)."""
    if lot.material is Material.CUTTINGS:
        return "99"
    if place is None or place.temperature_c is None:
        return "10"
    if place.temperature_c <= -10:
        return "13"
    return "12" if place.temperature_c <= 10 else "11"


def _remarks(lot: Lot) -> str:
    told: Mapping[str, str] = {
        "COLLSRC": lot.habitat,
        "STORAGE": "cuttings" if lot.material is Material.CUTTINGS else "",
        "DONORNUMB": lot.supplier_document if lot.is_received else "",
        "COORDUNCERT": "sensitive place, rounded to 0.1 degree" if lot.population.is_sensitive else "",
    }
    return ";".join(f"{name}:{' '.join(text.split())}" for name, text in told.items() if text.strip())


def _common_name(lot: Lot) -> str:
    entry = load_catalog().species.get(lot.species.key)
    names = entry.common_names.get("en", ()) if entry else ()
    return names[0] if names else ""


def day_text(days: Sequence[dt.date]) -> str:
    """``YYYYMMDD`` of one day; of several, what they have in common, with hyphens for the rest."""
    texts = {day.strftime("%Y%m%d") for day in days}
    if len(texts) == 1:
        return texts.pop()
    for known in (6, 4):
        common = {text[:known] for text in texts}
        if len(common) == 1:
            return common.pop().ljust(8, "-")
    return ""
