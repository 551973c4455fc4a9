"""Bags of single mother plants, and how many mothers a lot is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import delete, select
from sqlalchemy.orm import Session
from sqlalchemy.orm.attributes import flag_modified

from nursery.errors import Invalid
from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Bag, Lot
from nursery.models.bags import Sex
from nursery.models.lots import Material
from nursery.services import auditing, records
from nursery.services.coordinates import known_area, refuse_outside
from nursery.services.limits import Bounds

if TYPE_CHECKING:
    from nursery.planning.mothers import MotherBalance

#: Milligrams of one bag; a bag above a tonne is a slip of the unit. Of cuttings, a thousandth of a piece.
WEIGHT_MG = Bounds(1, 1_000_000_000)
MOST_BAGS = 500
#: Effective mothers. Below 15 is less than the 15–50 trees held adequate for ash (USFS National Seed Laboratory
#: 2008); 30 individuals at least (NordGen quality-assurance appendix, TemaNord 2025:515); more than 50 plants (US
#: Seeds of Success technical protocol §9).
FEW, ENOUGH, PLENTY = 15, 30, 50
#: A mother above this share makes the plants of a site too much alike; planning default, from memory.
LARGE_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class NewBag:
    """One bag as it is to be kept; weight in milligrams, or pieces times a thousand."""

    tag: str
    weight_mg: int
    latitude: float | None = None
    longitude: float | None = None
    sex: Sex | None = None


@dataclass(frozen=True, slots=True)
class Worth:
    """What a lot is worth in mothers. Without bags only ``most`` is known: plants sampled."""

    bags: Sequence[Bag]
    most: int | None
    balance: MotherBalance | None
    largest: Bag | None

    @property
    def effective(self) -> float | None:
        """Effective mothers; None where the bags were pooled."""
        return float(self.balance.effective_mothers) if self.balance is not None else None

    @property
    def tone(self) -> str:
        """Colour by the effective mothers, or by the most there can be."""
        known = self.effective if self.balance is not None else self.most
        if known is None:
            return "waiting"
        if known < FEW:
            return "stop"
        if known < ENOUGH:
            return "caution"
        return "ok" if self.balance is not None else "waiting"

    @property
    def sentence(self) -> str:
        """The verdict."""
        if self.balance is None:
            return self._pooled()
        words = {
            "effective": format_number(self.effective, 1),
            "mothers": ngettext("%(num)s mother plant", "%(num)s mother plants", len(self.bags)),
            "few": FEW, "enough": ENOUGH, "plenty": PLENTY,
        }  # fmt: skip
        effective = self.effective or 0.0
        if effective < FEW:
            return _("%(mothers)s, worth %(effective)s in equal shares: below %(few)s, too few.", **words)
        if effective < ENOUGH:
            return _(
                "%(mothers)s, worth %(effective)s in equal shares: below the least of %(enough)s. Combine it with"
                " other lots of the same region.",
                **words,
            )
        if effective < PLENTY:
            return _("%(mothers)s, worth %(effective)s in equal shares: at least %(enough)s, enough.", **words)
        return _("%(mothers)s, worth %(effective)s in equal shares: %(plenty)s or more, plenty.", **words)

    def _pooled(self) -> str:
        if self.most is None:
            return _("Bags were not kept apart and plants not counted: how many mothers it is worth is unknown.")
        told = _(
            "Pooled bag: the balance is unknown; at most as many effective mothers as plants sampled, %(most)s.",
            most=format_number(self.most),
        )
        if self.most < ENOUGH:
            told += " " + _("That is below the least of %(enough)s.", enough=ENOUGH)
        return told


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


def worth_of(lot: Lot, bags: Sequence[Bag]) -> Worth:
    """How many mothers a lot is worth, by its bags."""
    if not bags:
        return Worth((), lot.mother_plants, None, None)
    from nursery.planning.mothers import Kind, mother_balance  # noqa: PLC0415 -- slow import

    kind = Kind.CLONE if lot.material is Material.CUTTINGS else Kind.SEED
    # Seed comes from female plants only; the sexes of cuttings both go into the planting.
    sexed = kind is Kind.CLONE and all(bag.sex is not None for bag in bags)
    sexes = [str(bag.sex) for bag in bags] if sexed else None
    balance = mother_balance([bag.weight_mg for bag in bags], kind, sexes)
    return Worth(bags, lot.mother_plants, balance, max(bags, key=lambda bag: bag.weight_mg))


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
