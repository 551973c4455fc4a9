"""Which carriers bear which pool, and by which weight."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.models import PlantMovement, Species
from nursery.models.batches import PlantMovementKind
from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.work.costs import PARTS, Borne, Weights, bear, cents
from nursery.planning.work.passing import Leaving, passed_on
from nursery.services.costing.carriers import Carrier
from nursery.services.costing.pools import Pool


class Bearers:
    """Weights of pools over carriers; a pool that none fits gets a carrier of its own, so that nothing is lost."""

    def __init__(
        self, carriers: Sequence[Carrier], leaving: Mapping[int, Sequence[Leaving]], names: Mapping[int, str]
    ) -> None:
        self.carriers, self._leaving, self._names = list(carriers), leaving, names
        self._strays: dict[tuple[int | None, str], int] = {}
        self._known: dict[tuple[object, ...], tuple[Ints, Floats]] = {}
        table = self.carriers
        self._batch = _ids([one.batch_id for one in table])
        self._line = _ids([one.line_id for one in table])
        self._species = _ids([one.species_id for one in table])
        self._site = _ids([one.site_id for one in table])
        self._funder = np.array([one.funder for one in table], dtype=object)
        self._line_share = np.array([one.line_share for one in table], np.float64)
        self._batch_share = np.array([one.batch_share for one in table], np.float64)
        self._weight = np.array([one.weight for one in table], np.float64)
        self._from = np.array([one.from_on for one in table], "datetime64[D]")
        self._until = np.array([one.until_on for one in table], "datetime64[D]")

    def line_weight(self, line_id: int) -> float:
        """How much of a line's costs carriers bear, 0–1."""
        return float(self._line_share[self._line == line_id].sum())

    def weights(self, pools: Sequence[Pool]) -> Weights:
        """Who of `carriers` bears each of the pools."""
        rows = [self._of(pool) for pool in pools]
        sizes = [len(carrier) for carrier, _weight in rows]
        none = (np.zeros(0, np.int64), np.zeros(0))
        return Weights(
            np.repeat(np.arange(len(rows)), sizes),
            np.concatenate([carrier for carrier, _weight in (*rows, none)]),
            np.concatenate([weight for _carrier, weight in (*rows, none)]),
            len(self.carriers),
        )

    def _of(self, pool: Pool) -> tuple[Ints, Floats]:
        """Positions of the carriers of a pool, and their weights."""
        key = (pool.batch_id, pool.line_id, pool.species_id, pool.site_id, pool.funder, pool.day)
        if key not in self._known:
            found = self._reckoned(pool)
            at = np.flatnonzero(found)
            self._known[key] = (at, found[at]) if len(at) else self._stray(pool)
        return self._known[key]

    def _reckoned(self, pool: Pool) -> Floats:
        if pool.batch_id is not None:
            return self._of_batch(pool.batch_id, pool.day)
        if pool.line_id is not None:
            return np.where(self._line == pool.line_id, self._line_share, 0.0)
        return self._shared(pool)

    def _of_batch(self, batch_id: int, day: dt.date | None) -> Floats:
        """A batch's own cost, and what plants that left it for another batch took along."""
        ends = passed_on(batch_id, day, self._leaving)
        found = np.zeros(len(self._batch))
        for one, share in ends.items():
            found += np.where(self._batch == one, self._batch_share * share, 0.0)
        return found

    def _shared(self, pool: Pool) -> Floats:
        """By plants: what was growing that day, else any batch, else lines of the plan too."""
        fits = np.ones(len(self._batch), np.bool_)
        for asked, have in ((pool.species_id, self._species), (pool.site_id, self._site)):
            if asked is not None:
                fits &= have == asked
        if pool.funder:
            fits &= self._funder == pool.funder
        sown = self._batch > 0
        for some in (fits & sown & self._there(pool.day), fits & sown, fits):
            if (found := np.where(some, self._weight, 0.0)).any():
                return found
        return np.zeros(len(self._batch))

    def _there(self, day: dt.date | None) -> Bools:
        if day is None:
            return np.ones(len(self._batch), np.bool_)
        at = np.datetime64(day, "D")
        return np.asarray((self._from <= at) & (np.isnat(self._until) | (self._until >= at)))

    def _stray(self, pool: Pool) -> tuple[Ints, Floats]:
        """A carrier for money that nothing on record can bear."""
        key = (pool.species_id, pool.funder)
        if key not in self._strays:
            self._strays[key] = len(self.carriers)
            name = self._names.get(pool.species_id or 0, "")
            self.carriers.append(Carrier(pool.species_id, name, funder=pool.funder, weight=1.0))
        return np.array([self._strays[key]], np.int64), np.ones(1)


def borne_by(bearers: Bearers, pools: Sequence[Pool], overhead_share: float) -> Borne:
    """What each of the bearers' carriers bears of these pools."""
    return bear(
        cents([pool.money for pool in pools]),
        [pool.quantity for pool in pools],
        [PARTS.index(pool.part) for pool in pools],
        bearers.weights(pools),
        overhead_share=overhead_share,
    )


def read_leaving(session: Session) -> Mapping[int, Sequence[Leaving]]:
    """Plants that left batches by splits and mergers, with what each held just before, in the order of time."""
    joined = (PlantMovementKind.SPLIT, PlantMovementKind.MERGED)
    undone = select(PlantMovement.reverses_id).where(PlantMovement.reverses_id.is_not(None))
    mixed = select(PlantMovement.batch_id).where(PlantMovement.kind.in_(joined))
    rows = session.execute(
        select(
            PlantMovement.batch_id, PlantMovement.kind, PlantMovement.change, PlantMovement.happened_on,
            PlantMovement.other_batch_id, PlantMovement.id.in_(undone),
        )
        .where(PlantMovement.batch_id.in_(mixed))
        .order_by(PlantMovement.id)
    )  # fmt: skip
    found: defaultdict[int, list[Leaving]] = defaultdict(list)
    held: defaultdict[int, int] = defaultdict(int)
    for batch_id, kind, change, day, other_id, is_undone in rows:
        if kind in joined and change < 0 and other_id is not None and not is_undone:
            found[batch_id].append(
                Leaving(day, other_id, -change, held[batch_id], kind is PlantMovementKind.MERGED)
            )
        held[batch_id] += change
    return found


def species_names(session: Session) -> dict[int, str]:
    """Scientific names by id."""
    return dict(session.execute(select(Species.id, Species.scientific_name)).all())


def _ids(ids: Sequence[int | None]) -> np.ndarray:
    return np.array([one or 0 for one in ids], np.int64)
