"""Bags of single mother plants, as they are written down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import delete, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Bag, Lot
from nursery.models.bags import Sex
from nursery.models.lots import Material
from nursery.services import auditing, records
from nursery.services.coordinates import known_area, refuse_outside
from nursery.services.limits import Bounds

#: Milligrams of one bag; a bag above a tonne is a slip of the unit. Of cuttings, a thousandth of a piece.
WEIGHT_MG = Bounds(1, 1_000_000_000)
MOST_BAGS = 500


@dataclass(frozen=True, slots=True)
class NewBag:
    """One bag as it is to be kept; weight in milligrams, or pieces times a thousand."""

    tag: str
    weight_mg: int
    latitude: float | None = None
    longitude: float | None = None
    sex: Sex | None = None


def list_bags(session: Session, lot: Lot) -> Sequence[Bag]:
    """Bags of a lot by their tags as written."""
    return session.scalars(select(Bag).where(Bag.lot_id == lot.id).order_by(Bag.id)).all()


def write_bags(
    session: Session, actor: str, *, lot: Lot, bags: Sequence[NewBag], version: int | None = None
) -> Sequence[Bag]:
    """Keep these bags of a lot instead of those written down before; none means that they were pooled.

    Plants sampled are at least as many as bags; where fewer are written down, the bags tell better.

    Raises
    ------
    Invalid
        ``rows`` holds what is wrong, with the number of the row.
    Conflict
        When somebody changed the lot since ``version``.
    """
    errors = _errors(session, bags)
    if errors:
        raise Invalid({"rows": " ".join(errors)})
    before = list_bags(session, lot)
    values = {"mother_plants": max(len(bags), lot.mother_plants or 0) or None} if bags else {}
    if lot.plants_present is not None and len(bags) > lot.plants_present:
        text = _("%(bags)s bags, but only %(present)s plants were present. Correct one of the two.")
        raise Invalid({"rows": text % {"bags": len(bags), "present": format_number(lot.plants_present)}})
    # Bags are part of the lot: who saw an older version of it does not overwrite them unseen.
    session.refresh(lot)
    flag_modified(lot, "mother_plants")
    records.update(session, actor, lot, values, version=version)
    session.flush()
    session.execute(delete(Bag).where(Bag.lot_id == lot.id))
    kept = [
        Bag(
            lot_id=lot.id, tag=bag.tag, weight_mg=bag.weight_mg, latitude=bag.latitude, longitude=bag.longitude,
            sex=bag.sex,
        )
        for bag in bags
    ]  # fmt: skip
    session.add_all(kept)
    session.flush()
    told = {"bags": [describe(before, lot), describe(kept, lot)]}
    auditing.record(session, actor, action="bags", row=lot, details=told)
    return kept


def describe(bags: Sequence[Bag], lot: Lot) -> str:
    """Bags in a line, for histories."""
    listed = [f"{bag.tag} {format_number(bag.weight_mg / 1000, 3)}" for bag in bags[:60]]
    more = len(bags) - len(listed)
    text = "; ".join(listed) + (f"; +{more}" if more else "")
    return text + (f" ({_('pieces') if lot.material is Material.CUTTINGS else _('g')})" if text else "")


def _errors(session: Session, bags: Sequence[NewBag]) -> list[str]:
    if len(bags) > MOST_BAGS:
        return [_("%(bags)s bags are too many; at most %(most)s fit.", bags=len(bags), most=MOST_BAGS)]
    found, seen = [], set()
    for number, bag in enumerate(bags, start=1):
        told: list[str] = []
        tag = bag.tag.casefold()
        if not tag:
            told.append(_("The tag is missing."))
        elif tag in seen:
            told.append(_("The tag “%(tag)s” is there twice.", tag=bag.tag))
        elif len(bag.tag) > 40:
            told.append(_("The tag is longer than 40 characters."))
        seen.add(tag)
        if not WEIGHT_MG.holds(bag.weight_mg):
            told.append(_("The weight lies above 0 and up to a tonne (cuttings: a million)."))
        if (bag.latitude is None) != (bag.longitude is None):
            told.append(_("Give both latitude and longitude, or neither."))
        found += [_("Row %(number)s: %(text)s", number=number, text=text) for text in told]
    return found or _misplaced(session, bags)


def _misplaced(session: Session, bags: Sequence[NewBag]) -> list[str]:
    area = known_area(session)
    return [
        _("Row %(number)s: %(text)s", number=number, text=text)
        for number, bag in enumerate(bags, start=1)
        if bag.latitude is not None and bag.longitude is not None
        for text in refuse_outside(area, bag.latitude, bag.longitude).values()
    ]
