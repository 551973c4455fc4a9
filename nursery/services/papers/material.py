"""What the law says of the material itself: species purity of seed, and cuttings of source-identified stands."""

from __future__ import annotations

from collections.abc import Iterator

from nursery.i18n import format_percent
from nursery.i18n import gettext as _
from nursery.models.seed_tests import TestKind
from nursery.planning.mixing import Category
from nursery.planning.origin.words import Verdict as Level
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.floor import FloorCheck
from nursery.services.papers.sources import Sources


def material_checks(consignment: Consignment, part: Part, sources: Sources) -> list[FloorCheck]:
    """Questions that end with the authority: they warn and stop nothing. None for species that no law lists."""
    return list(_checks(consignment, part, sources)) if part.regulated is not None else []


def _checks(consignment: Consignment, part: Part, sources: Sources) -> Iterator[FloorCheck]:
    for lot in part.lots:
        link = ("lots.detail", lot.id)
        if part.is_cuttings and Category.SOURCE_IDENTIFIED in {
            origin.population.category for origin, _share in sources.origins_of(part)
        }:
            yield FloorCheck(
                lot.code, link, _("Propagated from cuttings"), Level.CAUTION,
                _(
                    "The Directive lets cuttings of a listed species be delivered as selected, qualified or tested"
                    " material only (art. 5(1)). Ask your authority; for one’s own use or conservation it may be"
                    " otherwise."
                ),
            )  # fmt: skip
        if consignment.goods == "seed" and not part.is_cuttings:
            yield FloorCheck(lot.code, link, _("Species purity"), *_species_purity(consignment, part, sources))


def _species_purity(consignment: Consignment, part: Part, sources: Sources) -> tuple[Level, str]:
    floor = consignment.law.floor("species-purity", part.names, consignment.country, consignment.day)
    test = next((one for one in sources.tests_of(part) if one.kind is TestKind.PURITY), None)
    if floor is None:
        return Level.PASS, _("No purity is asked for.")
    least = format_percent(floor.least)
    if test is None:
        return Level.CAUTION, _("No purity test is on record; %(least)s are asked for.", least=least)
    pure, other = float(test.readings["pure_g"]), float(test.readings["other_g"])
    share = pure / (pure + other)
    told = _(
        "%(share)s of the seed by weight is of this species; %(least)s are asked for.",
        share=format_percent(share, 1),
        least=least,
    )
    if share >= floor.least:
        return Level.PASS, told
    return Level.CAUTION, told + " " + _(
        "Lower is allowed among closely related species alone, with the purity declared: ask your authority."
    )
