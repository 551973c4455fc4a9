"""The identity of a lot on its papers (Directive 1999/105/EC art. 13; RD 289/2003 art. 9(1))."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from nursery.i18n import format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, Population
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Category
from nursery.services.origin.words import BASIC_LABELS, CATEGORY_LABELS
from nursery.services.papers.cases import STATED, Case, Found, given, wanting
from nursery.services.papers.stock import age_text
from nursery.services.papers.words import PURPOSE_LABELS
from nursery.services.populations import STATUS_LABELS


def certificate(case: Case) -> Found:
    """Country and number; plants of several lots need a certificate of the mixture."""
    lots = case.its_part.lots
    bare = next((lot for lot in lots if not lot.certificate_number), None)
    if bare is not None:
        told = _("Lot %(lot)s has no number of a master certificate. The authority gives it.", lot=bare.code)
        return wanting(told, "lots.edit", record_id=bare.id, _anchor="certificate_number")
    numbers = {(_country(case, lot.population), lot.certificate_number) for lot in lots}
    if len(numbers) > 1:
        told = _(
            "The plants come from lots with several certificates, and a mixture needs one of its own. Send the"
            " plants of each lot by themselves, or ask your authority."
        )
        return wanting(told, "batches.detail", record_id=case.its_part.lines[0].batch_id)
    country, number = numbers.pop()
    if not country:
        return wanting(_("The country is not written down."), "settings.page", _anchor="country")
    # As it stands on the certificate the number often begins with the country already.
    return given(number if number.upper().startswith(f"{country.upper()} ") else f"{country} {number}")


def lot_number(case: Case) -> Found:
    """Codes of the lots, and of the batches grown from them."""
    part = case.its_part
    codes = ", ".join(lot.code for lot in part.lots)
    batches = ", ".join(dict.fromkeys(line.batch.code for line in part.lines))
    return given(f"{codes} ({batches})" if batches else codes)


def species(case: Case) -> Found:
    """The botanical name, and that of the list where it is another."""
    part = case.its_part
    name, listed = part.species.scientific_name, part.regulated
    authors = f" {part.species.authorship}".rstrip()
    if listed is None or listed.scope != "species" or listed.taxon == name:
        return given(name + authors)
    return given(_("%(name)s (listed as %(listed)s)", name=name + authors, listed=listed.taxon))


def category(case: Case) -> Found:
    """The lowest of the categories of its sources."""
    found = {lot.population.category for lot, _share in case.origins}
    return given(CATEGORY_LABELS[next(one for one in Category if one in found)])


def category_word(case: Case) -> str:
    """The category as the law's data has it, for the colour of a label."""
    found = {lot.population.category for lot, _share in case.origins}
    return next((one.value for one in Category if one in found), Category.SOURCE_IDENTIFIED.value)


def purpose(case: Case) -> Found:
    """What the material is for, as the person says."""
    return given(PURPOSE_LABELS[case.stated.purpose]) if case.stated.purpose else wanting(STATED)


def basic_material(case: Case) -> Found:
    """Types of the basic material."""
    return given(_each(case, lambda place: str(BASIC_LABELS[place.basic_material])))


def register_reference(case: Case) -> Found:
    """References of the approved units; the region's code may stand in for source-identified material."""
    missing = next((place for place in _places(case) if not _reference(place)), None)
    if missing is None:
        return given(_each(case, _reference))
    told = _(
        "Population %(population)s has no reference in the national register, and no code of a region that could"
        " stand in for it.",
        population=missing.code,
    )
    return wanting(told, "populations.edit", record_id=missing.id, _anchor="register_reference")


def _reference(place: Population) -> str:
    if place.register_reference:
        return place.register_reference
    return place.region_code if place.category is Category.SOURCE_IDENTIFIED else ""


def region(case: Case) -> Found:
    """Code and name of the region of provenance."""
    missing = next((place for place in _places(case) if not place.region_code), None)
    if missing is not None:
        told = _("Population %(population)s has no region of provenance.", population=missing.code)
        return wanting(told, "populations.edit", record_id=missing.id, _anchor="region_code")
    return given(_each(case, lambda place: _region_text(case, place.region_code)))


def _region_text(case: Case, code: str) -> str:
    name = case.regions.get(code, "")
    return f"{code}, {name}" if name and name != code else code


def indigenous_status(case: Case) -> Found:
    """Whether the stands belong where they grow."""
    found = {place.indigenous_status for place in _places(case)}
    if IndigenousStatus.UNKNOWN in found:  # row c of the table of mixing: unknown is what the whole is
        return given(STATUS_LABELS[IndigenousStatus.UNKNOWN])
    return given(_each(case, lambda place: str(STATUS_LABELS[place.indigenous_status])))


def ripening_year(case: Case) -> Found:
    """The year; of a mixture the years with their shares."""
    shares: dict[int, float] = {}
    for lot, share in case.origins:
        shares[lot.ripening_year] = shares.get(lot.ripening_year, 0.0) + share
    if len(shares) == 1:
        return given(next(iter(shares)))
    return given("; ".join(f"{year} ({format_percent(share, 1)})" for year, share in sorted(shares.items())))


def age_and_stock(case: Case) -> Found:
    """Age and type of the plants."""
    return given(age_text(case.its_part, case.consignment.day))


def genetically_modified(case: Case) -> Found:
    """As the person says."""
    return given(_("yes") if case.stated.is_genetically_modified else _("no"))


def _places(case: Case) -> Iterable[Population]:
    return dict.fromkeys(lot.population for lot, _share in case.origins)


def _each(case: Case, told: Callable[[Population], str]) -> str:
    return "; ".join(dict.fromkeys(told(place) for place in _places(case)))


def _country(case: Case, place: Population) -> str:
    return place.country or case.consignment.country


def lots_of(case: Case) -> list[Lot]:
    """The collected lots."""
    return [lot for lot, _share in case.origins]
