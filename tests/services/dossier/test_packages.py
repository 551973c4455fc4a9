"""The data package passes the validator of those who wrote the standard, and says what its columns mean."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from frictionless import validate
from jsonschema import Draft7Validator
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.models import Bag, Lot, Planting
from nursery.planning.growing.words import Stage
from nursery.services import batches
from nursery.services.dossier.asking import Asked
from nursery.services.dossier.gathering import gather
from nursery.services.dossier.packing import Terms, read_terms
from tests.conftest import TODAY
from tests.services.dossier.conftest import ANA, Story
from tests.services.dossier.reading import descriptor, package, tables


def faults(content: bytes, folder: Path) -> list[Any]:
    """What the validator finds wrong."""
    file = folder / "package.zip"
    file.write_bytes(content)
    found: list[Any] = validate(str(file)).flatten(["type", "note", "rowNumber"])
    return found


def test_the_whole_story_passes_the_validator(session: Session, story: Story, tmp_path: Path) -> None:
    story.lot.mother_plants = None
    session.flush()
    content = package(session, story.asked(), Terms("CC-BY-4.0", ["Xana Prado"]))

    assert faults(content, tmp_path) == []
    data = tables(content)
    assert [name for name, rows in data.items() if not rows] == ["permits", "flows"]
    assert [(row["missing"], row["record"]) for row in data["gaps"]] == [
        ("Mother plants were not counted of", "QUSU-4024-7")
    ]


def test_the_validator_would_see_a_broken_key(session: Session, story: Story, tmp_path: Path) -> None:
    content = package(session, story.asked())
    broken = tmp_path / "broken.zip"
    with zipfile.ZipFile(broken, "w") as archive, zipfile.ZipFile(_kept(content, tmp_path)) as whole:
        for name in whole.namelist():
            text = whole.read(name)
            archive.writestr(name, text.replace(b"QUSU-4024-7", b"OTHER") if name == "data/lots.csv" else text)

    assert {row[0] for row in validate(str(broken)).flatten(["type"])} == {"foreign-key"}


def _kept(content: bytes, folder: Path) -> Path:
    file = folder / "whole.zip"
    file.write_bytes(content)
    return file


def test_every_planted_site_and_a_lot_of_the_demo_pass_the_validator(
    demo_session: Session, tmp_path: Path
) -> None:
    planted = demo_session.scalars(select(Planting.site_id).distinct().order_by(Planting.site_id)).all()
    lot = demo_session.scalars(select(Planting.lot_id).order_by(Planting.id)).first()
    asked = [Asked(TODAY, ANA, site_id=site_id) for site_id in planted] + [Asked(TODAY, ANA, lot_id=lot)]

    assert len(planted) >= 1
    assert [faults(package(demo_session, one), tmp_path) for one in asked] == [[] for _one in asked]


def test_the_description_names_licence_contributors_keys_and_words(session: Session, story: Story) -> None:
    told = descriptor(package(session, story.asked(), read_terms("CC0-1.0", "Xana Prado; Rui Meira;")))
    resources = {one["name"]: one for one in told["resources"]}
    lots = resources["lots"]["schema"]

    assert told["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert [one["name"] for one in told["licenses"]] == ["CC0-1.0"]
    assert [one["title"] for one in told["contributors"]] == ["Xana Prado", "Rui Meira"]
    assert all(
        one["schema"]["primaryKey"] and one["schema"]["missingValues"] == [""] for one in resources.values()
    )
    assert {"fields": ["population"], "reference": {"resource": "populations", "fields": ["population"]}} in lots[
        "foreignKeys"
    ]
    stage = next(one for one in resources["batches"]["schema"]["fields"] if one["name"] == "stage")
    assert stage["constraints"]["enum"] == [one["value"] for one in stage["categories"]]


def test_a_licence_that_is_none_is_refused() -> None:
    with pytest.raises(Invalid) as refused:
        read_terms("whatever", "")

    assert list(refused.value.errors) == ["licence"]


def test_texts_that_look_like_formulas_are_neutralised_and_numbers_are_not(session: Session, story: Story) -> None:
    story.site.name = "=1+1"
    session.flush()
    data = tables(package(session, story.asked()))

    assert data["sites"][0]["name"] == "'=1+1"
    assert data["populations"][0]["longitude"] == "-7.6"
    assert "-217" in [row["change"] for row in data["plant_movements"]]


def test_the_number_of_queries_does_not_grow(
    engine: Engine, session: Session, story: Story, maker: Any, count_queries: Any
) -> None:
    def asked_for() -> tuple[int, int]:
        session.commit()
        with Session(engine) as fresh, count_queries(engine) as statements:
            dossier = gather(fresh, story.asked())
        return len(statements), len(dossier.tables["plantings"].rows)

    few, one = asked_for()
    for number in range(12):
        lot = maker.lot(mother_plants=9, trip_id=maker.trip().id, storage_place_id=maker.place().id)
        session.add(Bag(lot_id=lot.id, tag="M1", weight_mg=10 + number))
        batch = maker.batch(lot=lot)
        planting = {"site_id": story.site.id, "lot_id": lot.id, "batch_id": batch.id, "plants": 10 + number}
        session.add(Planting(planted_on=TODAY.replace(month=1), **planting))
    many, all_of_them = asked_for()

    assert (one, all_of_them) == (1, 13)
    assert many == few


def test_no_site_and_no_lot_have_no_dossier(session: Session) -> None:
    for asked in (Asked(TODAY, ANA, site_id=404), Asked(TODAY, ANA, lot_id=404)):
        with pytest.raises(NotFound):
            gather(session, asked)


def test_a_merged_batch_is_told_with_all_its_lots(
    session: Session, story: Story, maker: Any, tmp_path: Path
) -> None:
    site = maker.site(code="S-M")
    parts = []
    for code, plants in (("L/A", 60), ("L/B", 40)):
        batch = batches.sow(
            session, ANA, lot=maker.lot(code=code, population=story.stand, pieces=500), seeds=200, trays=5,
            container_id=story.batch.container_id, method="direct", protocol="", sown_on=TODAY, today=TODAY,
        )  # fmt: skip
        batches.record_count(
            session, ANA, batch=batch, stage=Stage.EMERGED, counted_on=TODAY, today=TODAY, plants=plants
        )
        parts.append(batch)
    merged = batches.merge(session, ANA, batches=parts, happened_on=TODAY, today=TODAY)
    batches.dispatch(session, ANA, batch=merged, site_id=site.id, plants=50, happened_on=TODAY, today=TODAY)
    content = package(session, Asked(TODAY, ANA, site_id=site.id))
    data = tables(content)

    assert faults(content, tmp_path) == []
    assert {row["lot"]: float(row["plants"]) for row in data["shares"]} == pytest.approx({"L/A": 30, "L/B": 20})
    assert [row["batch"] for row in data["batches"]] == [one.code for one in (*parts, merged)]
    assert {
        row["lot"]: float(row["share"]) for row in data["batch_lots"] if row["batch"] == merged.code
    } == pytest.approx({"L/A": 0.6, "L/B": 0.4})
    lots = Asked(TODAY, ANA, lot_id=session.scalars(select(Lot.id).where(Lot.code == "L/A")).one())
    assert faults(package(session, lots), tmp_path) == []


def test_the_description_keeps_to_the_published_schema(session: Session, story: Story) -> None:
    told = descriptor(package(session, story.asked(), Terms("CC-BY-4.0", ["Xana Prado"])))

    assert told["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert schema_faults(told) == []
    assert schema_faults(told | {"created": 2026}) == ["created"]
    assert schema_faults(told | {"resources": []}) == ["resources"]


def schema_faults(told: dict[str, Any]) -> list[str]:
    """Where a description departs from the JSON schema of Data Package 2.0."""
    schema = json.loads(Path("tests/data/data_package/data-package-2-0.json").read_text("utf-8"))
    checker = Draft7Validator(schema)
    return ["/".join(str(part) for part in fault.absolute_path) for fault in checker.iter_errors(told)]
