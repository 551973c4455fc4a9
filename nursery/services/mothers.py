"""How many mothers a lot is worth: by its own bags, or by those of the lots that were mixed or split into it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Bag, Lot
from nursery.models.lots import Material
from nursery.services.bags import list_bags
from nursery.services.ledger.shares import OriginShare, lot_origins

if TYPE_CHECKING:
    from nursery.planning.mothers import MotherBalance

#: Effective mothers. Below 15 is less than the 15–50 trees held adequate for ash (USFS National Seed Laboratory
#: 2008); 30 individuals at least (NordGen quality-assurance appendix, TemaNord 2025:515); more than 50 plants (US
#: Seeds of Success technical protocol §9).
FEW, ENOUGH, PLENTY = 15, 30, 50
#: A mother above this share makes the plants of a site too much alike; planning default, from memory.
LARGE_SHARE = 0.1


@dataclass(frozen=True, slots=True)
class Part:
    """A collected lot in another; ``effective`` mothers of it alone, None where its bags were pooled."""

    lot: Lot
    share: float
    effective: float | None


@dataclass(frozen=True, slots=True)
class Worth:
    """What a lot is worth in mothers. Without bags only ``most`` is known: plants sampled."""

    #: Mothers by whose bags it is reckoned.
    mothers: int
    most: int | None
    balance: MotherBalance | None
    #: A bag of the mother with the largest share.
    largest: Bag | None
    #: The collected lots in it, largest share first; none for a lot that was not made of others.
    parts: Sequence[Part] = ()

    @property
    def effective(self) -> float | None:
        """Effective mothers; None where the bags were pooled."""
        return float(self.balance.effective_mothers) if self.balance is not None else None

    @property
    def largest_tag(self) -> str:
        """The mother with the largest share, by the tag of her bag; in a mixture with the lot that has it."""
        if self.largest is None:
            return ""
        home = next((part.lot.code for part in self.parts if part.lot.id == self.largest.lot_id), None)
        return f"{self.largest.tag} ({home})" if home and len(self.parts) > 1 else self.largest.tag

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
            "mothers": ngettext("%(num)s mother plant", "%(num)s mother plants", self.mothers),
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
        if self.parts:
            return self._pooled_parts()
        if self.most is None:
            return _("Bags were not kept apart and plants not counted: how many mothers it is worth is unknown.")
        told = _(
            "Pooled bag: the balance is unknown; at most as many effective mothers as plants sampled, %(most)s.",
            most=format_number(self.most),
        )
        if self.most < ENOUGH:
            told += " " + _("That is below the least of %(enough)s.", enough=ENOUGH)
        return told

    def _pooled_parts(self) -> str:
        told = _(
            "How many mothers it is worth is unknown, because no bags were kept apart of %(lots)s.",
            lots=", ".join(part.lot.code for part in self.parts if part.effective is None),
        )
        if self.most is not None:
            told += " " + _(
                "It is at most as many as plants were sampled, %(most)s.", most=format_number(self.most)
            )
        return told


def lot_worth(session: Session, lot: Lot) -> Worth:
    """The worth of a lot; of one that was mixed or split off, by the bags of the lots it was made of.

    A mother that is tagged alike in two lots of one population is the same plant. Where one part was pooled the
    whole is unknown. Bags that were written down of the lot itself tell better than those of its parts.
    """
    own = list_bags(session, lot)
    if own:
        return worth_of(lot, own)
    origins = lot_origins(session, [lot])[lot.id]
    if [origin.lot.id for origin in origins] == [lot.id]:
        return worth_of(lot, own)
    kept: defaultdict[int, list[Bag]] = defaultdict(list)
    for bag in session.scalars(
        select(Bag).where(Bag.lot_id.in_([origin.lot.id for origin in origins])).order_by(Bag.id)
    ):
        kept[bag.lot_id].append(bag)
    return _mixed(lot, origins, kept)


def worth_of(lot: Lot, bags: Sequence[Bag]) -> Worth:
    """How many mothers a lot is worth, by its bags."""
    if not bags:
        return Worth(0, lot.mother_plants, None, None)
    from nursery.planning.mothers import Kind, mother_balance  # noqa: PLC0415 -- slow import

    kind = Kind.CLONE if lot.material is Material.CUTTINGS else Kind.SEED
    # Seed comes from female plants only; the sexes of cuttings both go into the planting.
    sexed = kind is Kind.CLONE and all(bag.sex is not None for bag in bags)
    sexes = [str(bag.sex) for bag in bags] if sexed else None
    balance = mother_balance([bag.weight_mg for bag in bags], kind, sexes)
    return Worth(len(bags), lot.mother_plants, balance, max(bags, key=lambda bag: bag.weight_mg))


def _mixed(lot: Lot, origins: Sequence[OriginShare], kept: Mapping[int, Sequence[Bag]]) -> Worth:
    alone = [worth_of(origin.lot, kept.get(origin.lot.id, ())) for origin in origins]
    parts = [Part(origin.lot, origin.share, worth.effective) for origin, worth in zip(origins, alone, strict=True)]
    if any(part.effective is None for part in parts):
        return Worth(0, lot.mother_plants, None, None, parts)
    from nursery.planning.mothers import Kind, mother_balance, mother_shares  # noqa: PLC0415 -- slow import

    first: dict[Hashable, Bag] = {}
    given: list[tuple[float, dict[Hashable, float]]] = []
    for part in parts:
        weights: dict[Hashable, float] = {}
        for bag in kept[part.lot.id]:
            mother = (part.lot.population_id, bag.tag.casefold())
            first.setdefault(mother, bag)
            weights[mother] = float(bag.weight_mg)
        given.append((part.share, weights))
    shares = mother_shares(given)
    kind = Kind.CLONE if lot.material is Material.CUTTINGS else Kind.SEED
    sexes = [first[mother].sex for mother in shares]
    sexed = kind is Kind.CLONE and all(sex is not None for sex in sexes)
    balance = mother_balance(list(shares.values()), kind, [str(sex) for sex in sexes] if sexed else None)
    largest = max(shares, key=lambda mother: shares[mother])
    return Worth(len(shares), lot.mother_plants, balance, first[largest], parts)
