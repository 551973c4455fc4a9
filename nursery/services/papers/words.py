"""What people read for the words of papers."""

from __future__ import annotations

from enum import StrEnum

from nursery.catalog.law_words import PAPERS
from nursery.i18n import lazy as _l
from nursery.models.papers import PaperKind
from nursery.models.recipients import RecipientKind

KIND_LABELS = {kind: PAPERS[kind.value] for kind in PaperKind}
#: What a number begins with; the year and a running number follow.
PREFIXES = {
    PaperKind.SEED_DOCUMENT: "SD", PaperKind.SEED_LABEL: "SL", PaperKind.PLANT_DOCUMENT: "PD",
    PaperKind.PLANT_LABEL: "PL", PaperKind.PASSPORT: "PP", PaperKind.DELIVERY_NOTE: "DN",
}  # fmt: skip
LABELS = frozenset({PaperKind.SEED_LABEL, PaperKind.PLANT_LABEL})
DOCUMENTS = frozenset({PaperKind.SEED_DOCUMENT, PaperKind.PLANT_DOCUMENT})
#: Papers of the law on forest reproductive material.
FOREST = LABELS | DOCUMENTS
WHO_LABELS = {
    RecipientKind.OWN: _l("your own crew"),
    RecipientKind.PROFESSIONAL: _l("somebody who works with plants"),
    RecipientKind.FINAL_USER: _l("somebody who plants for themselves"),
}


class Purpose(StrEnum):
    """What the material is for; the first two are the Directive's words (from memory)."""

    MULTIFUNCTIONAL = "multifunctional"
    SPECIFIC = "specific"
    RESTORATION = "restoration"


PURPOSE_LABELS = {
    Purpose.MULTIFUNCTIONAL: _l("Multifunctional forestry"),
    Purpose.SPECIFIC: _l("A specific forestry purpose"),
    Purpose.RESTORATION: _l("Ecological restoration"),
}
DRAFT = _l("Draft, to be checked by the person who signs")
DEFER = _l(
    "Drafts like this one help you to gather what the law asks. They are no legal advice and take nobody’s place:"
    " whoever signs checks every line, and your authority decides."
)
