"""The catalogue's fixed words and what people read for them; files use the keys, screens the labels."""

from __future__ import annotations

from babel.support import LazyProxy

from nursery.i18n import gettext
from nursery.i18n import lazy as _l

METHODS: dict[str, LazyProxy] = {
    "direct": _l("Sown direct in cells"),
    "presprouted": _l("Pre-sprouted seed, one to a cell"),
    "pricked-out": _l("Sown in flats and pricked out"),
    "cuttings": _l("Cuttings"),
    "bareroot": _l("Nursery bed, bareroot"),
}
BASES: dict[str, LazyProxy] = {
    "seen": _l("Published, read in the source"),
    "memory": _l("From memory, not yet checked in a source"),
    "practice": _l("Common practice, no source"),
    "own": _l("This nursery’s own figure"),
    "learned": _l("Learned from batches seen in this nursery"),
    "unknown": _l("Not known; a nursery that knows it may set it"),
}
FILE_BASES = ("seen", "memory", "practice")
STORAGE_CLASSES = ("orthodox", "intermediate", "recalcitrant")
STORAGE_LABELS: dict[str, LazyProxy] = {
    "orthodox": _l("Orthodox: keeps dry and cold"),
    "intermediate": _l("Intermediate: keeps for a while, not too dry"),
    "recalcitrant": _l("Recalcitrant: dies when dried, cannot be kept"),
}
HABITS: dict[str, LazyProxy] = {
    "tree": _l("Tree"),
    "small tree": _l("Small tree"),
    "shrub": _l("Shrub"),
    "subshrub": _l("Subshrub"),
    "climber": _l("Climber"),
}
PARTS: dict[str, LazyProxy] = {"seed": _l("Seed"), "cuttings": _l("Cuttings")}
PRETREATMENT_PHASES: dict[str, LazyProxy] = {
    "soak": _l("Soak in water"),
    "scarify": _l("Scarify"),
    "warm-stratify": _l("Warm stratification"),
    "cold-stratify": _l("Cold stratification"),
    "heat": _l("Dry heat"),
    "sprout": _l("Pre-sprouting"),
    "cold-store": _l("Moist cold store"),
    "callus": _l("Moist cold callusing"),
}
NURSERY_PHASES: dict[str, LazyProxy] = {
    "emergence": _l("Emergence"),
    "rooting": _l("Rooting"),
    "pricking-out": _l("Pricking out"),
    "growing": _l("Growing"),
    "hardening": _l("Hardening"),
}
RATES: dict[str, LazyProxy] = {
    "germination": _l("Germination (rooting for cuttings)"),
    "emergence": _l("Nursery emergence"),
    "establishment": _l("Establishment"),
    "hardening": _l("Hardening"),
    "cull": _l("Cull"),
    "handling_loss": _l("Handling loss"),
    "field_survival_1": _l("Survival in the field after one year"),
    "field_survival_3": _l("Survival in the field after three years"),
}


def N_(text: str) -> str:  # noqa: N802 -- gettext's customary mark for texts translated where they are shown
    """Mark a text for translation without translating it."""
    return text


PROTOCOL_NAMES: tuple[str, ...] = (
    N_("Fresh acorns sown direct in deep containers"),
    N_("Acorns pre-sprouted and set one to a cell"),
    N_("Fresh seed sown direct"),
    N_("Fresh seed sown at once in flats and pricked out"),
    N_("Untreated seed sown direct"),
    N_("Untreated seed sown in flats and pricked out"),
    N_("Soaked seed sown direct"),
    N_("Chilled seed sown direct"),
    N_("Chilled seed sown in flats and pricked out"),
    N_("Chilled seed sown in a nursery bed for bareroot plants"),
    N_("Chilled seed, pre-sprouted and set one to a cell"),
    N_("Warm-stratified seed sown direct"),
    N_("Warm-then-chilled seed sown direct"),
    N_("Warm-then-chilled seed sown direct, shortest treatment"),
    N_("Warm-then-chilled seed for a two-season crop"),
    N_("Scarified seed sown direct"),
    N_("Scarified and chilled seed sown direct"),
    N_("Scarified, warm-then-chilled seed sown direct"),
    N_("Acid-scarified and chilled seed sown direct"),
    N_("Lye-soaked, warm-stratified seed sown direct"),
    N_("Hot-water-treated seed sown direct"),
    N_("Heat-treated seed sown in flats and pricked out"),
    N_("Heat-treated seed sown direct"),
    N_("Hardwood cuttings of winter"),
    N_("Hardwood cuttings, short crop in small containers"),
    N_("Root cuttings of winter"),
    N_("Semi-ripe cuttings of summer and autumn"),
    N_("Semi-hardwood cuttings of spring"),
    N_("Softwood cuttings of early summer under mist"),
    N_("Short crop of young plants in small containers"),
)
STORAGE_WORDS: tuple[str, ...] = (
    N_("0 to 4 °C, never frozen"),
    N_("2 to 5 °C"),
    N_("−18 to 5 °C"),
    N_("Moist, near the moisture at shedding, in thin polythene or ventilated boxes"),
    N_("Moist, kept from drying, in thin polythene"),
    N_("Dried to 6–9 % moisture, in airtight containers"),
    N_("Dried to 8–12 % moisture, in airtight containers"),
    N_("Dried within days of collecting, then airtight"),
)


def phase_label(key: str) -> str:
    """A phase as people read it."""
    return str(PRETREATMENT_PHASES.get(key) or NURSERY_PHASES.get(key) or key)


def protocol_label(name: str) -> str:
    """A protocol's name in the reader's language."""
    return gettext(name)


def storage_words(text: str) -> str:
    """Storage conditions in the reader's language."""
    return gettext(text)
