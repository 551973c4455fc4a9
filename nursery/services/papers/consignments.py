"""What travels to somebody: a load of plants, or seed given from a lot; parted by the lots it comes from."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from nursery.catalog import load_catalog
from nursery.catalog.law import Law, Regulated
from nursery.catalog.law_reading import load_law
from nursery.models import Batch, Dispatch, DispatchLine, Lot, Preferences, Recipient, Ruling, Species
from nursery.models.lots import Material
from nursery.models.movements import Measure
from nursery.models.recipients import RecipientKind
from nursery.services.batches.origins import batch_lots
from nursery.services.dispatches.trays import plants_of, trays_by_line
from nursery.services.papers.rulings import read_rulings, ruling_on
from nursery.services.preferences import read_preferences

Goods = Literal["seed", "plants"]


@dataclass(frozen=True)
class Part:
    """Seed of one lot, or the plants of a load that come from the same lots: one document each."""

    species: Species
    names: tuple[str, ...]
    #: Lots with their shares (sum 1); a batch merged from several has several.
    shares: tuple[tuple[Lot, float], ...]
    regulated: Regulated | None
    lines: tuple[DispatchLine, ...] = ()
    #: Trays or flats by line id, as far as they are known.
    trays: Mapping[int, int | None] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """What names the part in an address: the ids of its lots."""
        return "-".join(str(lot.id) for lot, _share in self.shares) or "0"

    @property
    def lots(self) -> tuple[Lot, ...]:
        """The lots alone."""
        return tuple(lot for lot, _share in self.shares)

    @property
    def plants(self) -> int:
        """Plants of the load's lines: what was sent, else what was asked for."""
        return sum(plants_of(line) for line in self.lines)

    @property
    def is_cuttings(self) -> bool:
        """Whether parts of plants travel, or plants grown from them."""
        return any(lot.material is Material.CUTTINGS for lot in self.lots)


@dataclass(frozen=True)
class Consignment:
    """Everything that settles which papers travel."""

    goods: Goods
    day: dt.date
    law: Law
    preferences: Preferences
    recipient: Recipient | None
    parts: tuple[Part, ...]
    dispatch: Dispatch | None = None
    #: By which what is planted there is not for forestry.
    ruling: Ruling | None = None
    #: Of seed: the mark of the ledger's act, and how much was given.
    act: str = ""
    measure: Measure = Measure.SEED
    amount: int = 0

    @property
    def who(self) -> RecipientKind:
        """Who takes it over; without a recipient it is one's own crew."""
        return self.recipient.kind if self.recipient else RecipientKind.OWN

    @property
    def country(self) -> str:
        """The nursery's own country, whose rules hold; empty while nobody has written it down."""
        return self.preferences.country

    @property
    def is_exported(self) -> bool:
        """Whether it leaves the Union."""
        there = self.recipient.country if self.recipient else ""
        return bool(there) and self.law.member(there, self.day) is None and self.is_in_union

    @cached_property
    def is_in_union(self) -> bool:
        """Whether the Union's rules hold here; they are taken while no country is written down."""
        return not self.country or self.law.member(self.country, self.day) is not None

    def part(self, key: str) -> Part | None:
        """The part of that key."""
        return next((part for part in self.parts if part.key == key), None)


def rules_day(dispatch: Dispatch, today: dt.date) -> dt.date:
    """The day whose rules hold for a load: that on which it went, else today."""
    return dispatch.sent_on or today


def consign_load(session: Session, dispatch: Dispatch, day: dt.date) -> Consignment:
    """A load as it stands: its lines by the lots of their batches."""
    return consign_loads(session, {dispatch: day})[dispatch.id]


def consign_loads(session: Session, days: Mapping[Dispatch, dt.date]) -> dict[int, Consignment]:
    """Loads as they stand, each by the rules of its day, by id. A fixed number of queries."""
    lines = session.scalars(
        select(DispatchLine)
        .where(DispatchLine.dispatch_id.in_([dispatch.id for dispatch in days]))
        .options(
            joinedload(DispatchLine.batch).joinedload(Batch.species),
            joinedload(DispatchLine.batch).joinedload(Batch.container),
        )
        .order_by(DispatchLine.position, DispatchLine.id)
    ).all()
    lines = [line for line in lines if plants_of(line)]
    of_load: dict[int, list[DispatchLine]] = defaultdict(list)
    for line in lines:
        of_load[line.dispatch_id].append(line)
    shares = batch_lots(session, [line.batch_id for line in lines])
    lots = _lots(session, {lot_id for found in shares.values() for lot_id in found})
    preferences, rulings = read_preferences(session), _rulings(session, days)
    return {
        dispatch.id: _consign(dispatch, of_load[dispatch.id], shares, lots, preferences, rulings, day)
        for dispatch, day in days.items()
    }


def _consign(
    dispatch: Dispatch, lines: Sequence[DispatchLine], shares: Mapping[int, Mapping[int, float]],
    lots: Mapping[int, Lot], preferences: Preferences, rulings: Sequence[Ruling], day: dt.date,
) -> Consignment:  # fmt: skip
    law = load_law()
    grouped: dict[tuple[int, ...], list[DispatchLine]] = defaultdict(list)
    for line in lines:
        grouped[(line.batch.species_id, *sorted(shares[line.batch_id]))].append(line)
    parts, trays = [], trays_by_line(lines)
    for (_species_id, *lot_ids), alike in grouped.items():
        weights = dict.fromkeys(lot_ids, 0.0)
        for line in alike:
            for lot_id, share in shares[line.batch_id].items():
                weights[lot_id] += share * plants_of(line)
        whole = sum(weights.values()) or 1.0
        parted = tuple((lots[lot_id], weight / whole) for lot_id, weight in weights.items())
        part = _part(alike[0].batch.species, parted, tuple(alike), preferences, law, day)
        parts.append(replace(part, trays={line.id: trays[line.id] for line in alike}))
    recipient = _taker(dispatch)
    ruling = ruling_on(rulings, day, site_id=dispatch.site_id, recipient_id=recipient.id if recipient else None)
    return Consignment("plants", day, law, preferences, recipient, tuple(parts), dispatch, ruling)


def _taker(dispatch: Dispatch) -> Recipient | None:
    return dispatch.recipient or dispatch.site.recipient


def _rulings(session: Session, dispatches: Iterable[Dispatch]) -> Sequence[Ruling]:
    loads = list(dispatches)
    takers = {taker.id for load in loads if (taker := _taker(load)) is not None}
    return read_rulings(session, site_ids={load.site_id for load in loads}, recipient_ids=takers)


def consign_seed(
    session: Session, lot: Lot, *, recipient: Recipient | None, measure: Measure, amount: int, day: dt.date,
    act: str = "",
) -> Consignment:  # fmt: skip
    """Seed (or cuttings) of a lot that goes to somebody."""
    preferences, law = read_preferences(session), load_law()
    part = _part(lot.species, ((lot, 1.0),), (), preferences, law, day)
    ruling = None
    if recipient is not None:
        found = read_rulings(session, site_ids=(), recipient_ids=(recipient.id,))
        ruling = ruling_on(found, day, recipient_id=recipient.id)
    return Consignment("seed", day, law, preferences, recipient, (part,), None, ruling, act, measure, amount)


def plant_names(species: Species) -> tuple[str, ...]:
    """All names under which the law may list a species."""
    entry = load_catalog().species.get(species.key)
    if entry is None:
        return (species.scientific_name,)
    # The catalogue's word for it comes first: the name under which Annex I has it.
    return tuple(dict.fromkeys([*filter(None, [entry.regulated_as]), entry.scientific_name, *entry.synonyms]))


def _part(
    species: Species, shares: tuple[tuple[Lot, float], ...], lines: tuple[DispatchLine, ...],
    preferences: Preferences, law: Law, day: dt.date,
) -> Part:  # fmt: skip
    names = plant_names(species)
    return Part(species, names, shares, law.regulated(names, preferences.country, day), lines)


def _lots(session: Session, lot_ids: set[int]) -> dict[int, Lot]:
    found: Sequence[Lot] = session.scalars(
        select(Lot)
        .where(Lot.id.in_(lot_ids))
        .options(joinedload(Lot.population), joinedload(Lot.species), joinedload(Lot.storage_place))
    ).all()
    return {lot.id: lot for lot in found}
