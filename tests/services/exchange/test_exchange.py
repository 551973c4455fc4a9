"""Lots for gene banks, portals and maps: every field as the standards ask, sensitive places rounded."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from dwca.read import DwCAReader
from sqlalchemy.orm import Session

from nursery.models import Lot
from nursery.models.lots import Material
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Basic
from nursery.services import ledger
from nursery.services.exchange.countries import alpha_3
from nursery.services.exchange.darwin_core import darwin_core
from nursery.services.exchange.degrees import latitude_dms, longitude_dms
from nursery.services.exchange.geojson import geojson
from nursery.services.exchange.mcpd import DESCRIPTORS, day_text, mcpd_csv
from nursery.services.exchange.selecting import Wanted, select_lots
from nursery.services.exchange.taxa import split_name
from nursery.services.preferences import read_preferences
from tests.conftest import TODAY

DWC = "http://rs.tdwg.org/dwc/terms/"
WANTED = Wanted(TODAY, institute="PRT999")


@pytest.fixture
def lots(session: Session, maker: Any) -> list[Lot]:
    """One of a plain stand with its trip, one of a sensitive stand without."""
    own = read_preferences(session)
    own.organisation, own.country = "Fontela trust", "PT"
    plain = maker.population(
        code="P-1", name="Fontela oaks", latitude=40.123456, longitude=-7.5, elevation_m=512.4, basin="Vez",
        indigenous_status=IndigenousStatus.AUTOCHTHONOUS, basic_material=Basic.STAND, fruiting_plants=80,
    )  # fmt: skip
    hidden = maker.population(
        code="P-2", name="Secret spring", latitude=40.2345, longitude=-7.6789, elevation_m=433.0,
        is_sensitive=True, country="ES", species=maker.species("olea-europaea"),
    )  # fmt: skip
    trip = maker.trip(code="T-1", collected_on=dt.date(2026, 10, 5), people="Xana Prado, Rui Meira")
    found = [
        maker.lot(
            code="L-1", population=plain, trip_id=trip.id, collected_on=dt.date(2026, 10, 5), mother_plants=37,
            habitat="riverside\nwood", storage_place_id=maker.place(temperature_c=-18.0).id,
        ),
        maker.lot(
            code="-2", population=hidden, collected_on=dt.date(2025, 11, 9), ripening_year=2025, is_received=True,
            supplier_document="X/9", material=Material.CUTTINGS, pieces=40,
        ),
    ]  # fmt: skip
    session.flush()
    return found


def rows(session: Session, wanted: Wanted) -> dict[str, dict[str, str]]:
    text = mcpd_csv(session, select_lots(session, wanted)).decode()
    return {row["ACCENUMB"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}


def test_a_lot_is_a_row_of_passport_descriptors(session: Session, lots: list[Lot]) -> None:
    row = rows(session, WANTED)["L-1"]

    assert list(row) == list(DESCRIPTORS)
    assert {name: value for name, value in row.items() if value} == {
        "INSTCODE": "PRT999", "ACCENUMB": "L-1", "COLLCODE": "PRT999", "COLLNAME": "Fontela trust",
        "COLLMISSID": "T-1", "GENUS": "Quercus", "SPECIES": "suber", "CROPNAME": "cork oak",
        "ACQDATE": "20261005", "ORIGCTY": "PRT", "COLLSITE": "Fontela oaks, Vez", "DECLATITUDE": "40.123456",
        "LATITUDE": "400724N", "DECLONGITUDE": "-7.5", "LONGITUDE": "0073000W", "COORDDATUM": "WGS84",
        "ELEVATION": "512", "COLLDATE": "20261005", "SAMPSTAT": "110", "COLLSRC": "11", "STORAGE": "13",
        "REMARKS": "COLLSRC:riverside wood",
    }  # fmt: skip


def test_a_sensitive_stand_and_a_gift_are_told_as_little_as_they_may(session: Session, lots: list[Lot]) -> None:
    row = rows(session, WANTED)["'-2"]

    assert (row["DECLATITUDE"], row["DECLONGITUDE"]) == ("40.2", "-7.7")
    assert (row["LATITUDE"], row["LONGITUDE"]) == ("4012--N", "00742--W")
    assert (row["ORIGCTY"], row["ELEVATION"], row["COLLSITE"], row["COLLNAME"]) == ("ESP", "", "", "")
    assert 6000 < int(row["COORDUNCERT"]) < 8000
    assert (row["SAMPSTAT"], row["STORAGE"], row["ACQDATE"]) == ("100", "99", "")
    assert row["REMARKS"] == ("STORAGE:cuttings;DONORNUMB:X/9;COORDUNCERT:sensitive place, rounded to 0.1 degree")


def test_a_mixture_tells_its_parts_and_only_what_they_have_in_common(session: Session, maker: Any) -> None:
    stands = [maker.population(code=f"P-{n}", region_code="R-1") for n in (7, 8)]
    parts = [
        maker.lot(code=f"L-{n}", population=stand, collected_on=dt.date(2026, 10, n))
        for n, stand in zip((7, 28), stands, strict=True)
    ]
    made = ledger.mix_lots(
        session, "Ana Seabra", amounts=[(parts[0], 300_000), (parts[1], 100_000)], code="L-MIX",
        certificate_number="C/1", happened_on=TODAY, today=TODAY,
    )  # fmt: skip
    row = rows(session, WANTED)[made.code]

    assert row["ANCEST"] == "L-7 75.0%; L-28 25.0%"
    assert (row["COLLDATE"], row["DECLATITUDE"], row["ACQDATE"]) == ("202610--", "", "")


def test_an_archive_is_read_back_with_its_events_and_samples(
    session: Session, lots: list[Lot], tmp_path: Path
) -> None:
    events, samples = archive(session, replace(WANTED, licence="CC0-1.0"), tmp_path)

    assert list(events) == ["trip:T-1", "lot:-2", "trip:T-1:P-1"]
    visit, hidden = events["trip:T-1:P-1"], events["lot:-2"]
    assert (visit["parentEventID"], visit["eventDate"], visit["countryCode"]) == ("trip:T-1", "2026-10-05", "PT")
    assert (visit["decimalLatitude"], visit["decimalLongitude"]) == ("40.123456", "-7.5")
    assert (visit["locality"], visit["coordinateUncertaintyInMeters"]) == ("Fontela oaks", "")
    assert (hidden["decimalLatitude"], hidden["decimalLongitude"]) == ("40.2", "-7.7")
    assert 6000 < int(hidden["coordinateUncertaintyInMeters"]) < 8000
    assert (hidden["locality"], hidden["minimumElevationInMeters"]) == ("", "")
    assert "0.1 degree" in hidden["dataGeneralizations"]
    assert hidden["informationWithheld"] != ""
    lot = samples["lot:L-1"]
    assert (lot["basisOfRecord"], lot["materialSampleID"], lot["preparations"]) == (
        "MaterialSample",
        "L-1",
        "seed",
    )
    assert (lot["organismQuantity"], lot["organismQuantityType"]) == ("37", "mother plants sampled")
    assert lot["associatedOccurrences"] == "trip:T-1:P-1:stand"
    stand = samples["trip:T-1:P-1:stand"]
    assert (stand["basisOfRecord"], stand["individualCount"], stand["establishmentMeans"]) == (
        "HumanObservation", "80", "native",
    )  # fmt: skip
    assert (stand["family"], stand["genus"], stand["specificEpithet"]) == ("Fagaceae", "Quercus", "suber")


def test_names_of_people_go_along_only_where_they_were_ticked(
    session: Session, lots: list[Lot], tmp_path: Path
) -> None:
    without, with_them = (
        archive(session, replace(WANTED, people=ticked), tmp_path)[1]["lot:L-1"]["recordedBy"]
        for ticked in (False, True)
    )

    assert (without, with_them) == ("", "Xana Prado, Rui Meira")


def archive(session: Session, wanted: Wanted, folder: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """Events and occurrences by their keys, as a reader library finds them, by the short names of terms."""
    file = folder / "archive.zip"
    file.write_bytes(darwin_core(session, select_lots(session, wanted)))
    with DwCAReader(str(file)) as reader:
        assert reader.descriptor.core.type == f"{DWC}Event"
        assert [one.type for one in reader.descriptor.extensions] == [f"{DWC}Occurrence"]
        assert reader.metadata is not None
        events = {row.id: short(row.data) for row in reader.rows}
        found = [short(one.data) for row in reader.rows for one in row.extensions]
    return events, {one["occurrenceID"]: one for one in found}


def short(data: dict[str, str]) -> dict[str, str]:
    return {term.rsplit("/", 1)[1]: value for term, value in data.items()}


def test_places_are_points_with_longitude_first(session: Session, lots: list[Lot], maker: Any) -> None:
    maker.site(code="S-1", latitude=40.2, longitude=-7.4)
    found = json.loads(geojson(session, select_lots(session, WANTED)))
    points = {one["id"]: one for one in found["features"]}

    assert found["type"] == "FeatureCollection"
    assert points["population-P-1"]["geometry"] == {"type": "Point", "coordinates": [-7.5, 40.123456]}
    assert points["population-P-2"]["geometry"]["coordinates"] == [-7.7, 40.2]
    assert points["population-P-2"]["properties"]["name"] is None
    assert points["site-S-1"]["geometry"]["coordinates"] == [-7.4, 40.2]


def test_lots_are_narrowed_to_a_lot_or_a_year(session: Session, lots: list[Lot]) -> None:
    def codes(**narrowed: Any) -> list[str]:
        return [lot.code for lot in select_lots(session, replace(WANTED, **narrowed)).lots]

    assert codes() == ["-2", "L-1"]
    assert codes(year=2026) == ["L-1"]
    assert codes(lot_id=lots[1].id) == ["-2"]


@pytest.mark.parametrize(
    ("degrees", "told"),
    [(40.123456, "400724N"), (-0.5, "003000S"), (39.9999999, "400000N"), (0.0, "000000N")],
)
def test_latitudes_are_told_in_degrees_minutes_and_seconds(degrees: float, told: str) -> None:
    assert latitude_dms(degrees) == told


def test_what_is_not_known_of_a_place_is_hyphens() -> None:
    assert longitude_dms(-7.7, coarse=True) == "00742--W"
    assert longitude_dms(179.9999999) == "1800000E"


@pytest.mark.parametrize(
    ("days", "told"),
    [
        ([dt.date(2026, 1, 2)], "20260102"),
        ([dt.date(2026, 1, 2), dt.date(2026, 1, 9)], "202601--"),
        ([dt.date(2026, 1, 2), dt.date(2026, 2, 2)], "2026----"),
        ([dt.date(2026, 1, 2), dt.date(2025, 1, 2)], ""),
    ],
)
def test_missing_parts_of_days_are_hyphens(days: list[dt.date], told: str) -> None:
    assert day_text(days) == told


def test_names_fall_into_their_parts() -> None:
    assert split_name("Quercus suber") == ("Quercus", "suber", "", "species")
    assert split_name("Olea europaea var. sylvestris") == ("Olea", "europaea", "var. sylvestris", "variety")
    assert split_name("Populus × canescens") == ("Populus", "× canescens", "", "species")
    assert split_name("Salix") == ("Salix", "", "", "genus")


def test_countries_have_three_letters() -> None:
    assert [alpha_3(code) for code in ("pt", "ES", "GR", "ZZ", "")] == ["PRT", "ESP", "GRC", "", ""]
