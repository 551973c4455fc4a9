"""What the law says of the material: seed of one species, and cuttings of wild stands."""

from __future__ import annotations

import pytest

from nursery.models.movements import Measure
from nursery.models.seed_tests import TestKind
from nursery.planning.mixing import Category
from nursery.planning.origin.words import Verdict
from nursery.services.papers.consignments import consign_seed
from nursery.services.papers.material import material_checks
from nursery.services.papers.sources import read_sources
from tests.papers_world import TODAY, World, cuttings_of_poplar


@pytest.mark.parametrize(
    ("other", "level", "told"),
    [(0.5, Verdict.PASS, "99.5 % of the seed"), (2.0, Verdict.CAUTION, "closely related species alone")],
)
def test_seed_of_other_species_is_one_part_in_a_hundred_at_most(
    world: World, other: float, level: Verdict, told: str
) -> None:
    pure = 100 - other
    world.test_of(world.ash, TestKind.PURITY, 0.9, TODAY, pure_g=pure, other_g=other, inert_g=10)
    given = world.give(100)
    (check,) = material_checks(given, given.parts[0], read_sources(world.session, given))

    assert (check.what, check.level) == ("Species purity", level)
    assert told in check.reason


def test_seed_nobody_tested_says_so(world: World) -> None:
    given = world.give(100)
    (check,) = material_checks(given, given.parts[0], read_sources(world.session, given))

    assert (check.level, check.reason) == (Verdict.CAUTION, "No purity test is on record; 99 % are asked for.")


def test_cuttings_of_a_wild_poplar_lead_to_the_authority(world: World) -> None:
    lot = cuttings_of_poplar(world)
    given = consign_seed(world.session, lot, recipient=world.partner, measure=Measure.PIECES, amount=9, day=TODAY)
    first = material_checks(given, given.parts[0], read_sources(world.session, given))
    lot.population.category = Category.SELECTED
    then = material_checks(given, given.parts[0], read_sources(world.session, given))

    assert [(check.what, check.level) for check in first] == [("Propagated from cuttings", Verdict.CAUTION)]
    assert "Ask your authority" in first[0].reason
    assert then == []
