"""How amounts of the book are said, and the species it can be narrowed to."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import gettext as _
from nursery.models import Batch, Lot, Species
from nursery.models.movements import Measure
from nursery.services.batches.words import plants_text
from nursery.services.ledger.words import MEASURE_LABELS
from nursery.services.ledger.words import amount_text as seed_text
from nursery.services.movement_book.asking import PLANTS_MEASURE


def amount_text(measure: str, amount: int) -> str:
    """Grams, pieces or plants."""
    return plants_text(amount) if measure == PLANTS_MEASURE else seed_text(Measure(measure), amount)


def measure_label(measure: str) -> str:
    """What an amount is an amount of."""
    return _("plants") if measure == PLANTS_MEASURE else str(MEASURE_LABELS[Measure(measure)])


def species_options(session: Session) -> list[tuple[str, str]]:
    """Species that any lot or batch has."""
    used = select(Lot.species_id).union(select(Batch.species_id))
    rows = session.execute(
        select(Species.key, Species.scientific_name).where(Species.id.in_(used)).order_by(Species.scientific_name)
    )
    return [(row.key, row.scientific_name) for row in rows]
