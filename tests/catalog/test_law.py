"""The law's rows: which species, from which day, in which country, and what a wrong row is told."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from nursery import resources
from nursery.catalog import load_catalog
from nursery.catalog.checking import check
from nursery.catalog.law_checking import check_law
from nursery.catalog.law_reading import KINDS, load_law, read_law
from nursery.errors import Invalid

DAY = dt.date(2026, 11, 25)


def names_of(key: str) -> tuple[str, ...]:
    entry = load_catalog().species[key]
    return (entry.scientific_name, *entry.synonyms, *filter(None, [entry.regulated_as]))


def test_annex_i_is_complete_and_every_file_has_its_rows() -> None:
    law = load_law()

    assert len([row for row in law.species if row.jurisdiction == "EU"]) == 47
    assert len([row for row in law.species if row.jurisdiction == "ES"]) == 24
    assert {kind for kind in KINDS if not getattr(law, kind.replace("-", "_"))} == set()


def test_the_shipped_rows_have_no_fault_and_each_says_how_it_is_known() -> None:
    law = load_law()

    assert check_law(resources.seed_catalog()) == []
    assert [
        row for rows in (law.species, law.hosts, law.papers, law.quality) for row in rows if not row.where
    ] == []
    recalled = {row.taxon for row in law.small_quantities if row.basis == "memory"}
    assert {"Alnus glutinosa", "Quercus ilex", "Populus"} <= recalled
    assert "Tamarix gallica" not in recalled


@pytest.mark.parametrize(
    ("names", "country", "taxon"),
    [
        (names_of("quercus-rotundifolia"), "PT", "Quercus ilex"),  # a synonym, or the catalogue's own word
        (["Quercus ilex subsp. ballota"], "PT", "Quercus ilex"),
        (["Populus × canadensis"], "PT", "Populus"),
        (["Larix ×eurolepis"], "PT", "Larix × eurolepis"),
        (["Larix x eurolepis"], "PT", "Larix × eurolepis"),
        (["Castanea × coudercii"], "ES", "Castanea"),
        (["Castanea sativa"], "ES", "Castanea sativa"),
        (["Ulmus minor"], "ES", "Ulmus minor"),
        (["Ulmus minor"], "PT", None),
        (["Ulmus minor"], "GB", None),
        (["Quercus ilex"], "GB", None),  # no rules of that country are known here
        (["Quercus ilex"], "", "Quercus ilex"),  # no country written down: the Union's list
        (["Quercus"], "PT", None),
    ],
)
def test_a_species_is_found_under_any_of_its_names(names: list[str], country: str, taxon: str | None) -> None:
    found = load_law().regulated(names, country, DAY)

    assert (found.taxon if found else None) == taxon


def test_rows_hold_from_their_day_on() -> None:
    law = load_law()

    assert law.regulated(["Quercus ilex"], "ES", dt.date(2002, 12, 31)) is None
    assert law.notices_on("DIR-1999/105", dt.date(2026, 6, 25)) == []
    assert [row.key for row in law.notices_on("DIR-1999/105", DAY)] == ["reg-2026-1392"]


@pytest.mark.parametrize(
    ("names", "country", "day", "found"),
    [
        (["Quercus robur"], "ES", DAY, "Quercus"),
        (["Quercus suber"], "ES", DAY, None),
        (["Crataegus monogyna"], "PT", DAY, "Crataegus"),
        (["Salix atrocinerea"], "PT", DAY, None),
        (["Crataegus monogyna"], "CH", DAY, None),
        (["Crataegus monogyna"], "PT", dt.date(2019, 12, 13), None),
    ],
)
def test_plants_of_protected_zones_are_known_with_their_exceptions(
    names: list[str], country: str, day: dt.date, found: str | None
) -> None:
    host = load_law().zone_host(names, country, day)
    assert (host.taxon if host is not None else None) == found


def test_floors_are_those_of_the_species_where_it_has_its_own() -> None:
    law = load_law()
    sizes = law.sizes(["Quercus ilex"], "PT", DAY)

    assert [(row.years, row.least_height_cm, row.most_height_cm, row.least_collar_mm) for row in sizes] == [
        (1, 8, 30, 2), (2, 15, 50, 3),
    ]  # fmt: skip
    floors = [law.floor("container-cm3", [name], "PT", DAY) for name in ("Pinus pinaster", "Quercus suber")]
    assert [floor.least for floor in floors if floor] == [120, 200]
    assert law.sizes(["Quercus faginea"], "PT", DAY) == []
    assert len(law.sizes(["Quercus faginea"], "ES", DAY)) == 2


def test_a_row_of_the_country_goes_before_that_of_the_union() -> None:
    law = load_law()
    ask = ("plant-label", "plants", "regulated", "professional")

    found = {country: law.paper_rule(*ask, country, DAY) for country in ("ES", "PT", "GB")}

    assert {country: rule.applies for country, rule in found.items() if rule} == {"ES": True, "PT": False}
    own = law.paper_rule("plant-document", "plants", "regulated", "own", "ES", DAY)
    assert own is not None
    assert (own.applies, own.reason) == (False, "own-crew-es")


FAULTS = {
    'taxon = "Abies alba" }': ('taxon = 3 }', "rows.1.taxon = 3: Write a text in quotes."),
    'regime = "DIR-1999/105"': ('regime = "DIR-0"', "rows.1.regime = DIR-0: No row of regimes.toml has this key"),
    "valid_from = 2003-01-01": ('valid_from = "soon"', "rows.1.valid_from = soon: Write a date, such as"),
    'basis = "seen"': ('basis = "sure"', "rows.1.basis = sure: Write one of seen, seen-second, memory"),
    '{ taxon = "Abies grandis" }': ('{ taxon = "Abies alba" }', "rows.3: The row is the same as row 1"),
    'scope = "species"': ('scope = "species"\nvalid_to = 1999-01-01', "rows.1.valid_to = 1999-01-01: The"),
    'kind = "species"': ('kind = "spices"', "kind = spices: Write one of regimes"),
}  # fmt: skip


@pytest.mark.parametrize("was", FAULTS)
def test_a_wrong_row_is_named_with_its_file_and_its_remedy(tmp_path: Path, was: str) -> None:
    becomes, told = FAULTS[was]
    shutil.copytree(resources.seed_catalog(), tmp_path / "seed")
    file = tmp_path / "seed" / "law" / "species-eu.toml"
    text = file.read_text(encoding="utf-8")
    assert was in text
    file.write_text(text.replace(was, becomes, 1), encoding="utf-8")

    assert any(str(message).startswith(f"law/species-eu.toml: {told}") for message in check(tmp_path / "seed"))


def test_a_row_that_cannot_be_read_is_refused_by_name(tmp_path: Path) -> None:
    (tmp_path / "odd.toml").write_text('kind = "members"\nrows = [{ land = "PT" }]\n', encoding="utf-8")

    with pytest.raises(Invalid, match=r"odd.toml cannot be read .*row 1"):
        read_law(tmp_path)
