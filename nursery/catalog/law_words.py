"""What people read for the keys of ``seed_catalog/law``: papers, particulars, reasons, notices."""

from __future__ import annotations

from babel.support import LazyProxy

from nursery.i18n import lazy as _l

PAPERS: dict[str, LazyProxy] = {
    "seed-document": _l("Supplier’s document for seed"),
    "seed-label": _l("Label for seed"),
    "plant-document": _l("Supplier’s document for plants"),
    "plant-label": _l("Label for plants"),
    "passport": _l("Plant passport"),
    "delivery-note": _l("Delivery note"),
}
SECTIONS: dict[str, LazyProxy] = {
    "identity": _l("Identity of the lot"),
    "supply": _l("What is supplied"),
    "quality": _l("Quality of the seed"),
    "elements": _l("Elements of the passport"),
    "record": _l("Kept on record, not printed"),
}
CONCERNING: dict[str, LazyProxy] = {
    "forest-material": _l("Forest reproductive material"),
    "plant-health": _l("Plant health"),
}
FIELD_LABELS: dict[str, LazyProxy] = {
    "certificate": _l("Country and number of the master certificate"),
    "lot-number": _l("Lot"),
    "species": _l("Botanical name"),
    "category": _l("Category"),
    "purpose": _l("Purpose"),
    "basic-material": _l("Type of basic material"),
    "register-reference": _l("Register reference, or code of the region of provenance"),
    "region": _l("Region of provenance"),
    "indigenous-status": _l("Indigenous status"),
    "ripening-year": _l("Year of ripening"),
    "age-and-stock": _l("Age and type of planting stock"),
    "genetically-modified": _l("Genetically modified"),
    "document-number": _l("Number of the document"),
    "supplier": _l("Supplier"),
    "recipient": _l("Recipient"),
    "quantity": _l("Quantity supplied"),
    "packages": _l("Number and type of packages"),
    "label-numbers": _l("Numbers of the labels"),
    "provisional": _l("Basic material provisionally approved"),
    "vegetative": _l("Vegetatively propagated"),
    "populus-class": _l("EC classification number (Populus)"),
    "purity": _l("Purity: pure seed, other seed, inert matter"),
    "germination": _l("Germination of the pure seed, or viability with its method"),
    "thousand-seed-weight": _l("Weight of 1,000 pure seeds"),
    "germinable-per-kg": _l("Germinable (or viable) seeds in a kilogram"),
    "analysis-date": _l("Day of the analysis"),
    "cold-store": _l("Kept in a cold store"),
    "quantity-per-package": _l("Quantity in each package, and in all"),
    "container": _l("Bare roots, or type and volume of the container"),
    "trays": _l("Number of containers with several cells"),
    "passport-a": _l("A  Botanical name"),
    "passport-b": _l("B  Country and registration number of the operator"),
    "passport-c": _l("C  Traceability code"),
    "passport-d": _l("D  Country of origin or production"),
    "passport-pz": _l("Protected zone for"),
    "passport-replaces": _l("Replaces the passport"),
    "destination": _l("Delivered to"),
    "delivered-on": _l("Day of the delivery"),
    "vehicle": _l("Vehicle and driver"),
    "content": _l("What travels"),
}
#: Why a paper applies or does not, as a sentence.
REASONS: dict[str, LazyProxy] = {
    "delivered": _l(
        "The species is on the list of forest reproductive material, and it is delivered to another person, which"
        " counts as marketing even without a price."
    ),
    "label": _l("The species is on the list, and its packages carry a label in this country."),
    "label-or-document": _l(
        "The document may stand for the label in most countries (from memory): ask your authority whether labels"
        " are wanted too."
    ),
    "own-crew": _l("Your own crew plants it: nothing is delivered to another person."),
    "own-crew-es": _l(
        "Your own crew plants it, so nothing is delivered. In Spain material for one’s own use still needs"
        " approved basic material, notice and a master certificate above small quantities of seed: ask your"
        " authority."
    ),
    "not-listed": _l("The species is on no list of forest reproductive material that these rules know."),
    "passport": _l("Plants for planting go to somebody who works with plants or plants under a contract."),
    "passport-final-user": _l(
        "The plants are handed to somebody who plants for themselves (from memory: not when they are sold at a"
        " distance). One may be drawn up all the same."
    ),
    "passport-own": _l(
        "The plants stay in your own hands (from memory: between your own places close by). One may be drawn up"
        " all the same."
    ),
    "passport-seed": _l("Seed of these species needs no passport; some crops do: ask the plant-health service."),
    "always": _l("Whoever takes plants or seed over signs for what came. No law is named for it here."),
}
NOTICES: dict[str, LazyProxy] = {
    "reg-2026-1392": _l(
        "The law is changing. Regulation (EU) 2026/1392 of 20 May 2026, published on 26 June 2026, replaces"
        " Directive 1999/105/EC; its first day of application was not verified here, and its lists and fields are"
        " not in these rules. Check Regulation (EU) 2026/1392 with your authority before you sign."
    ),
}
BASIS_LABELS: dict[str, LazyProxy] = {
    "seen": _l("read in the act or an official copy"),
    "seen-second": _l("read in a text about the act"),
    "memory": _l("from memory: check it"),
    "derived": _l("worked out from the act"),
    "practice": _l("common practice, no source"),
}
#: Colours of labels by category (RD 289/2003 art. 10(6) and Annex VI; an Austrian official page agrees).
COLOURS: dict[str, str] = {
    "source-identified": "#f4d53c",
    "selected": "#6fb56a",
    "qualified": "#f2a5b8",
    "tested": "#7fb2e0",
}
COLOUR_LABELS: dict[str, LazyProxy] = {
    "source-identified": _l("yellow"),
    "selected": _l("green"),
    "qualified": _l("pink"),
    "tested": _l("blue"),
}
