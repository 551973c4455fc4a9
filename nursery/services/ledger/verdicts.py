"""The verdict on a mixture in words, each reason with where the rule is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.planning.mixing import SOURCE, Refusal, Rule, Status, Verdict
from nursery.services.ledger.shares import OriginShare

#: What each row of the table that applies means for the mixture.
RULE_TEXTS = {
    Rule.UNITS: _l("Several approval units of one region of provenance and one category may be mixed (row a)."),
    Rule.TYPES: _l("Seed source and stand together: the mixture is classed as from a seed source (row b)."),
    Rule.UNKNOWN: _l(
        "Material of non-indigenous and of unknown origin together: the mixture is of unknown origin (row c)."
    ),
    Rule.REGION_CODE: _l(
        "The code of the region of provenance may stand in for the register reference; those of the parts stay"
        " readable here (row d)."
    ),
    Rule.YEARS: _l(
        "Different ripening years of one approval unit may be mixed; years and the share of each are kept (row e)."
    ),
}
STATUS_LABELS = {
    Status.AUTOCHTHONOUS: _l("autochthonous"),
    Status.INDIGENOUS: _l("indigenous"),
    Status.NON_INDIGENOUS: _l("non-indigenous"),
    Status.UNKNOWN: _l("of unknown origin"),
}


def reasons_against(
    lots: Sequence[Lot], origins: Mapping[int, list[OriginShare]], verdict: Verdict
) -> Sequence[str]:
    """Why these lots may not be mixed, by the table and by what the records say; empty where they may."""
    found = []
    if len({lot.id for lot in lots}) < 2 or len({lot.id for lot in lots}) != len(lots):
        return [_("Choose at least two different lots.")]
    collected = list({one.lot.id: one.lot for lot in lots for one in origins[lot.id]}.values())
    found += refusals_of(verdict, collected)
    if len({lot.material for lot in lots}) > 1:
        found.append(_("Seed and cuttings are not mixed."))
    elif len({lot.amount_mg is None for lot in lots}) > 1:
        found.append(_("One lot is kept in grams and another in pieces. Weigh or count all of them alike first."))
    for lot in lots:
        if lot.is_held:
            found.append(
                _(
                    "%(lot)s is on hold because no permit covers it. Have it released before mixing it.",
                    lot=lot.code,
                )
            )
        if lot.archived_at is not None:
            found.append(_("%(lot)s is archived. Bring it back before mixing it.", lot=lot.code))
    return found


def refusals_of(verdict: Verdict, collected: Sequence[Lot]) -> list[str]:
    """What the table says against mixing these collected lots, each reason with its source."""
    return [_ruled_out(refusal, collected) for refusal in verdict.refusals]


def _ruled_out(refusal: Refusal, lots: Sequence[Lot]) -> str:
    species = ", ".join(sorted({lot.species.scientific_name for lot in lots}))
    regions = ", ".join(sorted({lot.population.region_code for lot in lots if lot.population.region_code}))
    nowhere = ", ".join(sorted({lot.population.code for lot in lots if not lot.population.region_code.strip()}))
    years = ", ".join(str(year) for year in sorted({lot.ripening_year for lot in lots}))
    statuses = {Status(lot.population.indigenous_status.value) for lot in lots}
    said = {
        Refusal.ONE_LOT: _("Choose at least two different lots."),
        Refusal.SPECIES: _("A lot is of one species; these are of %(species)s.", species=species),
        Refusal.NATIVE: _(
            "Autochthonous or indigenous material is never mixed with material that is non-indigenous or of"
            " unknown origin; these are %(statuses)s.",
            statuses=", ".join(str(STATUS_LABELS[status]) for status in sorted(statuses)),
        ),
        Refusal.REGION: _(
            "Lots of different populations are mixed only within one region of provenance; these are of"
            " %(regions)s.",
            regions=regions,
        ),
        Refusal.REGION_UNKNOWN: _(
            "Lots of different populations are mixed only within one region of provenance; it is not written down"
            " for %(populations)s.",
            populations=nowhere,
        ),
        Refusal.CATEGORY: _("Lots of different populations are mixed only within one category."),
        Refusal.TYPES: _("These types of basic material are not mixed."),
        Refusal.YEARS: _(
            "Different ripening years are mixed only within one population; these are of %(years)s and of several"
            " populations.",
            years=years,
        ),
    }
    return _("%(reason)s (%(source)s)", reason=said[refusal], source=SOURCE)
