"""Figures as people read them."""

from __future__ import annotations

import pytest

from nursery.catalog import load_catalog
from nursery.i18n import locale_of
from nursery.services.species.evidence import evidence_behind
from nursery.services.species.labels import figure_label, months_text, value_text


@pytest.mark.parametrize(
    ("months", "text"),
    [
        ((11, 12, 1), "November to January"),
        ((7, 11), "July, November"),
        ((3,), "March"),
        ((1, 12, 5, 6), "December to January, May to June"),
        (tuple(range(1, 13)), "all year"),
        ((), ""),
    ],
)
def test_months_read_as_spells_that_may_cross_the_new_year(months: tuple[int, ...], text: str) -> None:
    assert months_text(months) == text


def test_every_figure_of_the_catalogue_has_a_name_and_a_value_in_words() -> None:
    figures = [
        figure for entry in load_catalog().species.values() for figure in entry.figure_table.values()
    ]  # fmt: skip
    unnamed = [f.path for f in figures if "." in figure_label(f.path) or "_" in figure_label(f.path)]
    empty = [f.path for f in figures if not value_text(f.path, f.value, f.unit)]
    assert (unnamed, empty) == ([], [])


def test_fractions_read_in_per_cent_and_numbers_with_their_unit() -> None:
    assert value_text("seed.purity", 0.855) == "85.5 %"
    assert value_text("seed.thousand_seed_weight_g", 2120.0, "g") == "2,120 g"
    assert value_text("storage.seed_life_days", 150.0, "d") == "150 days"
    with locale_of("pt"):
        assert value_text("seed.purity", 0.855) == "85,5 %"


def test_the_evidence_behind_a_weight_is_all_that_was_collected_on_seed_weight() -> None:
    entry = load_catalog().species["arbutus-unedo"]
    fields = {row.field for row in evidence_behind(entry, "seed.thousand_seed_weight_g")}
    assert fields == {
        "seeds_per_kg_max",
        "seeds_per_kg_mean",
        "seeds_per_kg_min",
        "thousand_seed_weight",
        "thousand_seed_weight_max",
        "thousand_seed_weight_min",
    }


def test_rooting_stands_behind_cuttings_and_germination_behind_seed() -> None:
    entry = load_catalog().species["arbutus-unedo"]
    cuttings = evidence_behind(entry, "protocols.semi-ripe-cuttings.rates.germination.mean")
    seed = evidence_behind(entry, "protocols.chilled-pricked-out.rates.germination.mean")
    assert {row.field.split("_")[0] for row in cuttings} == {"rooting", "cuttings"}
    assert {row.field.split("_")[0] for row in seed} == {"germination", "dormancy"}
