"""The rule of origin: one place asked, one or two offered, and every refusal has its reason."""

from __future__ import annotations

from itertools import product

from nursery.planning.origin.places import ALLOWED, asked_place, judge_origin, offered_places


def test_a_site_asks_for_its_region_and_only_without_one_for_its_basin() -> None:
    asked = asked_place(["R1", "R1", "", ""], ["Alva", "", "Alva", ""])

    assert asked.tolist() == ["region R1", "region R1", "basin Alva", ""]


def test_a_population_offers_its_region_and_its_basin() -> None:
    offered = offered_places(["R1", "", "R2", ""], ["Alva", "Alva", "", ""])

    assert list(zip(offered["row"], offered["place"], strict=True)) == [
        (0, "region R1"),
        (2, "region R2"),
        (0, "basin Alva"),
        (1, "basin Alva"),
    ]


def test_each_pair_gets_its_reason() -> None:
    pairs = {
        ("R1", "Alva", "R1", "Brenha"): "same-region",
        ("R1", "Alva", "R2", "Alva"): "other-region",
        ("R1", "Alva", "", "Alva"): "region-unknown",
        ("", "Alva", "R2", "Alva"): "same-basin",
        ("", "Alva", "R1", "Brenha"): "other-basin",
        ("", "Alva", "R1", ""): "basin-unknown",
        ("", "", "R1", "Alva"): "site-unknown",
        ("", "", "", ""): "site-unknown",
    }

    judged = judge_origin(*zip(*pairs, strict=True))

    assert judged.tolist() == list(pairs.values())


def test_the_pairs_allowed_are_those_whose_places_meet() -> None:
    every = list(product(("", "R1", "R2"), ("", "Alva", "Brenha"), ("", "R1", "R2"), ("", "Alva", "Brenha")))
    site_region, site_basin, region, basin = zip(*every, strict=True)
    offered = offered_places(region, basin).groupby("row")["place"].agg(set).to_dict()

    meeting = [
        place in offered.get(row, set()) for row, place in enumerate(asked_place(site_region, site_basin).tolist())
    ]

    assert [value in ALLOWED for value in judge_origin(site_region, site_basin, region, basin)] == meeting


def test_a_basin_never_passes_for_a_region_of_the_same_name() -> None:
    assert judge_origin(["Alva"], [""], [""], ["Alva"]).tolist() == ["region-unknown"]
    assert offered_places([""], ["Alva"])["place"].tolist() == ["basin Alva"]
