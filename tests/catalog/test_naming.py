"""Names as people type them find their species, or the near ones are offered."""

from __future__ import annotations

import pytest

from nursery.catalog import find_species, load_catalog, nearest

CATALOG = load_catalog()


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("quercus-suber", "quercus-suber"),
        ("Quercus suber", "quercus-suber"),
        ("  QUERCUS   SUBER ", "quercus-suber"),
        ("Quercus suber L.", "quercus-suber"),
        ("Quercus_suber", "quercus-suber"),
        ("Q. suber", "quercus-suber"),
        ("Q.suber", "quercus-suber"),
        ("q suber", "quercus-suber"),
        ("sobreiro", "quercus-suber"),
        ("Alcornoque", "quercus-suber"),
        ("cork oak", "quercus-suber"),
        ("carvalho português", "quercus-faginea"),
        ("carvalho-portugues", "quercus-faginea"),
        ("Quercus ilex", "quercus-ilex"),
        ("Quercus ilex subsp. ilex", "quercus-ilex"),
        ("Quercus rotundifolia", "quercus-rotundifolia"),
        ("Quercus ilex subsp. rotundifolia", "quercus-rotundifolia"),
        ("Quercus ilex ssp. ballota", "quercus-rotundifolia"),
        ("Quercus ilex L. subsp. ballota (Desf.) Samp.", "quercus-rotundifolia"),
        ("Q. ballota", "quercus-rotundifolia"),
        ("azinheira", "quercus-rotundifolia"),
        ("Olea europaea var. sylvestris", "olea-europaea-sylvestris"),
        ("Populus alba L.", "populus-alba"),
        ("P. alba", "populus-alba"),
        ("S. alba", "salix-alba"),
        ("Prunus avium (L.) L.", "prunus-avium"),
    ],
)
def test_a_name_finds_its_species(text: str, key: str) -> None:
    found = find_species(CATALOG, text)
    assert found is not None
    assert found.key == key


@pytest.mark.parametrize(
    "text", ["", " ", ".", "Quercus", "Quercus alba", "P. latifolia var. nova", "Qercus suber", "🌳", "x" * 5000]
)
def test_what_names_no_species_finds_none(text: str) -> None:
    assert find_species(CATALOG, text) is None


def test_every_own_name_and_synonym_finds_its_own_species() -> None:
    lost = [
        name
        for entry in CATALOG.species.values()
        for name in (
            entry.key,
            entry.scientific_name,
            f"{entry.scientific_name} {entry.authorship}",
            *entry.synonyms,
        )
        if find_species(CATALOG, name) is not entry
    ]
    assert lost == []


def test_every_common_name_belongs_to_one_species() -> None:
    shared = [
        name
        for entry in CATALOG.species.values()
        for names in entry.common_names.values()
        for name in names
        if find_species(CATALOG, name) is not entry
    ]
    assert shared == []


def test_both_holm_oaks_fall_under_the_rules_for_quercus_ilex() -> None:
    names = ("Quercus ilex", "Quercus rotundifolia")
    assert [CATALOG.species[n.lower().replace(" ", "-")].regulated_as for n in names] == ["Quercus ilex"] * 2


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("Qercus subr", "quercus-suber"),
        ("Quercus pirenaica", "quercus-pyrenaica"),
        ("Fraxinus angustifolius", "fraxinus-angustifolia"),
        ("medronhero", "arbutus-unedo"),
    ],
)
def test_a_misspelt_name_is_offered_the_right_one_first(text: str, first: str) -> None:
    assert nearest(CATALOG, text)[0].key == first


def test_a_word_of_common_names_offers_the_species_that_bear_it() -> None:
    offered = nearest(CATALOG, "willow", limit=47)
    assert {"salix-alba", "salix-atrocinerea"} <= {entry.key for entry in offered}
    assert all("willow" in " ".join(entry.common_names["en"]) for entry in offered[:2])


def test_no_more_suggestions_than_asked_for_and_none_for_nonsense() -> None:
    assert len(nearest(CATALOG, "Quercus", limit=2)) <= 2
    assert [nearest(CATALOG, text) for text in ("", "zzzzzzzz")] == [[], []]
