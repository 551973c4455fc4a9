"""What is supplied, by whom and to whom, and the elements of the plant passport."""

from __future__ import annotations

from nursery.i18n import format_date, format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models.movements import Measure
from nursery.services.ledger.words import amount_text
from nursery.services.papers.cases import STATED, Case, Found, given, wanting
from nursery.services.papers.consignments import Part
from nursery.services.papers.parties import operator_of, recipient_of
from nursery.services.papers.stock import container_text, in_trays, trays_text, units_of, without_trays
from nursery.services.papers.words import LABELS


def document_number(case: Case) -> Found:
    """A document's own number, known once it is drawn up; a label bears that of its document."""
    if case.kind not in LABELS:
        return given(case.number or _("given when it is drawn up"))
    if case.document is None:
        return wanting(_("Draw the supplier’s document up first: the label bears its number."))
    return given(case.document.number)


def supplier(case: Case) -> Found:
    """Name, address and number of the organisation."""
    own = case.consignment.preferences
    if not own.organisation:
        return wanting(_("The organisation’s name is not written down."), "settings.page", _anchor="organisation")
    if not own.address:
        return wanting(_("The organisation’s address is not written down."), "settings.page", _anchor="address")
    number = _("supplier number %(number)s", number=own.supplier_number) if own.supplier_number else ""
    return given(", ".join(filter(None, [own.organisation, " ".join(own.address.split()), own.country, number])))


def recipient(case: Case) -> Found:
    """Name and address of whoever takes it over."""
    taker = case.consignment.recipient
    if taker is None:
        return given(_("Our own crew"))
    return given(", ".join(filter(None, recipient_of(taker))))


def quantity(case: Case) -> Found:
    """Plants, or the weight of seed, or pieces."""
    if case.consignment.goods == "plants":
        plants = sum(part.plants for part in _parts(case))
        return given(ngettext("%(num)s plant", "%(num)s plants", plants))
    return given(amount_text(case.consignment.measure, case.consignment.amount))


def quantity_per_package(case: Case) -> Found:
    """What one package or tray holds, and how much there is in all."""
    whole, _missing, _link = quantity(case)
    if case.consignment.goods == "plants":
        if (unknown := _unknown_trays(case.its_part)) is not None:
            return unknown
        part = case.its_part
        trays = dict.fromkeys(held for line in part.lines for held in in_trays(part, line))
        each = ", ".join(_in_tray(held) for held in trays)
        return given(f"{each}; {whole}" if each else whole)
    if not package_count(case):
        return wanting(STATED)
    one = amount_text(case.consignment.measure, round(case.consignment.amount / package_count(case)))
    return given(_("%(one)s in each; %(whole)s in all", one=one, whole=whole))


def each_label(case: Case) -> list[str]:
    """How much each label says its own tray or batch holds, and all of them; none for seed."""
    whole, _missing, _link = quantity(case)
    told: list[str] = []
    for line in case.its_part.lines:
        told += [f"{_in_tray(held)}; {whole}" for held in in_trays(case.its_part, line)] or [whole]
    return told


def _in_tray(held: int) -> str:
    return ngettext("%(num)s in a tray", "%(num)s in a tray", held)


def packages(case: Case) -> Found:
    """How many, and of what kind."""
    if not package_count(case):
        return wanting(STATED)
    kind = case.stated.package_type or _("sealed packages")
    return given(f"{format_number(package_count(case))}, {kind}")


def package_count(case: Case) -> int:
    """Packages of seed: those of the document where there is one, else as the person says."""
    if case.kind in LABELS and case.document is not None:
        return int(case.document.particulars.get("labels", 0))
    return case.stated.packages or 0


def label_count(case: Case) -> int:
    """How many labels go with the document: one a package or tray."""
    if case.consignment.goods == "seed":
        return package_count(case) or 1
    return sum(units_of(case.its_part, line) for line in case.its_part.lines)


def label_numbers(case: Case) -> Found:
    """The document's own number and a running one, where labels are asked for."""
    rule = case.consignment.law.paper_rule(
        case.kind.value.replace("document", "label"), case.consignment.goods, "regulated",
        case.consignment.who.value, case.consignment.country, case.consignment.day,
    )  # fmt: skip
    if rule is None or not rule.applies:
        return given(_("none"))
    if not case.number:
        return given(_("given when it is drawn up"))
    many = label_count(case)
    first, last = f"{case.number}/1", f"{case.number}/{many}"
    return given(_("%(first)s to %(last)s", first=first, last=last) if many > 1 else first)


def provisional(case: Case) -> Found:
    """As the person says."""
    return given(_("yes") if case.stated.is_provisional else _("no"))


def vegetative(case: Case) -> Found:
    """Whether it was raised from cuttings."""
    return given(_("yes") if case.its_part.is_cuttings else _("no"))


def populus_class(case: Case) -> Found:
    """As the person says."""
    return given(case.stated.populus_class) if case.stated.populus_class else wanting(STATED)


def container(case: Case) -> Found:
    """Bare roots, or container and volume."""
    return given(container_text(case.its_part.lines))


def trays(case: Case) -> Found:
    """Containers with several cells."""
    return _unknown_trays(case.its_part) or given(trays_text(case.its_part))


def _unknown_trays(part: Part) -> Found | None:
    """Where a load left before trays were kept, somebody has to say how many went."""
    line = without_trays(part)
    if line is None:
        return None
    told = _("In how many trays %(batch)s went is not written down.", batch=line.batch.code)
    return wanting(told, "dispatches.trays", record_id=line.dispatch_id, load_line_id=line.id)


def destination(case: Case) -> Found:
    """The site, or the recipient's own place."""
    load = case.consignment.dispatch
    return given(f"{load.site.name} ({load.site.code})") if load is not None else recipient(case)


def delivered_on(case: Case) -> Found:
    """The day it went, or is to go."""
    load = case.consignment.dispatch
    return given(format_date(load.sent_on or load.planned_on if load is not None else case.consignment.day))


def vehicle(case: Case) -> Found:
    """Vehicle and driver; a rule to be filled in by hand where nobody wrote them down."""
    load = case.consignment.dispatch
    named = ", ".join(filter(None, [load.vehicle, load.driver])) if load is not None else ""
    return given(named or "–")


def content(case: Case) -> Found:
    """How much of how many species."""
    if case.consignment.goods == "seed":
        return quantity(case)
    species = len({part.species.id for part in case.consignment.parts})
    whole, _missing, _link = quantity(case)
    return given(f"{whole}, {ngettext('%(num)s species', '%(num)s species', species)}")


def passport_a(case: Case) -> Found:
    """Botanical names, each on passports of its own."""
    return given(", ".join(dict.fromkeys(part.species.scientific_name for part in case.consignment.parts)))


def passport_b(case: Case) -> Found:
    """Country, hyphen, number in the register of operators."""
    own = case.consignment.preferences
    if not own.country:
        return wanting(_("The country is not written down."), "settings.page", _anchor="country")
    if not own.operator_number:
        told = _("The organisation’s number in the register of operators is not written down.")
        return wanting(told, "settings.page", _anchor="operator_number")
    return given(operator_of(own)[0])


def passport_c(case: Case) -> Found:
    """Codes of the batches (of lots of cuttings): one to a passport."""
    for part in case.consignment.parts:  # each tray has a passport
        if (unknown := _unknown_trays(part)) is not None:
            return unknown
    return given(", ".join(unit.code for unit in trade_units(case)))


def passport_pz(case: Case) -> Found:
    """Organisms of a protected zone, as the person says."""
    return given(" ".join(case.stated.protected_zone.split()) or _("no protected zone"))


def passport_replaces(case: Case) -> Found:
    """The passport with which the plants came, as the person says."""
    return given(" ".join(case.stated.replaces.split()) or _("none"))


def passport_d(case: Case) -> Found:
    """The country where the plants were raised."""
    own = case.consignment.preferences
    if not own.country:
        return wanting(_("The country is not written down."), "settings.page", _anchor="country")
    return given(own.country)


class TradeUnit:
    """Plants of one batch: as many passports as it has trays, all alike."""

    def __init__(self, name: str, code: str, count: int) -> None:
        self.name, self.code, self.count = name, code, count


def trade_units(case: Case) -> list[TradeUnit]:
    """What has a passport of its own."""
    units = [
        TradeUnit(part.species.scientific_name, line.batch.code, units_of(part, line))
        for part in case.consignment.parts
        for line in part.lines
    ]
    if units:
        return units
    return [
        TradeUnit(part.species.scientific_name, lot.code, case.stated.packages or 1)
        for part in case.consignment.parts
        for lot in part.lots
    ]


def _parts(case: Case) -> tuple[Part, ...]:
    return (case.part,) if case.part is not None else case.consignment.parts


def grams(case: Case) -> float | None:
    """Weight of the seed supplied; None for pieces and plants."""
    if case.consignment.goods != "seed" or case.consignment.measure is not Measure.SEED:
        return None
    return case.consignment.amount / 1000
