"""The page of what a nursery has learned of one species."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import SpeciesEntry
from nursery.catalog.vocabulary import protocol_label
from nursery.i18n import gettext as _
from nursery.models import Evidence, Lot
from nursery.planning.heavy import special
from nursery.services.evidence import KINDS, kind_label
from nursery.services.learned.batches import EXTRACTION, Batch, Origin
from nursery.services.learned.rates import LearnedRate, counts_of, figure_paths, learned_rates
from nursery.services.species.reading import SpeciesView, read_species


@dataclass(frozen=True, slots=True)
class BatchView:
    """One batch, what it showed by itself, and what it is worth beside the others."""

    batch: Batch
    lot_code: str
    #: Shrunk towards the rate of the usual protocol, and the trials this is worth.
    mean: float
    weight: float

    @property
    def share(self) -> float:
        """Successes of trials."""
        return self.batch.successes / self.batch.trials

    @property
    def origin_label(self) -> str:
        """Where it was written down, in words."""
        return origin_label(self.batch)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the batches made of one prior; protocols whose catalogue figures are alike share it."""

    rate: LearnedRate
    protocols: tuple[str, ...]
    #: Paths of the means, to set by hand.
    paths: tuple[str, ...]
    #: Those that a person set by hand; there the learned rate waits.
    own: tuple[str, ...]

    @property
    def prior_range(self) -> tuple[float, float]:
        """Where the catalogue expects eight of ten batches."""
        a, b = self.rate.prior_mean * self.rate.prior_weight, (1 - self.rate.prior_mean) * self.rate.prior_weight
        low, high = special.betaincinv(a, b, (0.1, 0.9))
        return float(low), float(high)


@dataclass(frozen=True, slots=True)
class RateView:
    """One rate with its batches and outcomes."""

    part: str
    rate: str
    label: str
    success: str
    trial: str
    outcomes: Sequence[Outcome]
    batches: Sequence[BatchView]

    @property
    def by_weight(self) -> bool:
        """Whether it is a share of weight rather than of a count."""
        return self.rate == EXTRACTION


@dataclass(frozen=True, slots=True)
class LearnedView:
    """All that the page shows, save the plan."""

    species: SpeciesView
    rates: Sequence[RateView]
    withdrawn: Sequence[Evidence]
    #: Rates of which nothing has been seen yet: label, paths of the mean.
    unseen: Sequence[tuple[str, str]]

    @property
    def batch_count(self) -> int:
        """Batches that count."""
        return sum(len(rate.batches) for rate in self.rates)


def read_learned(session: Session, name: str) -> LearnedView:
    """What has been learned of the species of that key; raises NotFound."""
    view = read_species(session, name)
    codes = _codes(session, view.batches)
    found: dict[tuple[str, str], list[LearnedRate]] = {}
    for rate in learned_rates(view.catalogue, counts_of(view.batches)):
        found.setdefault((rate.part, rate.rate), []).append(rate)
    withdrawn = session.scalars(
        select(Evidence)
        .where(Evidence.species_id == view.row.id, Evidence.withdrawn_at.is_not(None))
        .order_by(Evidence.happened_on, Evidence.id)
    ).all()
    return LearnedView(
        species=view,
        rates=[_rate(view, kind, rates, codes) for kind, rates in found.items()],
        withdrawn=withdrawn,
        unseen=_unseen(view.catalogue, set(found)),
    )


def origin_label(batch: Batch) -> str:
    """Where a batch was written down, in words."""
    if batch.origin is Origin.TEST:
        return _("Germination test")
    return _("Weighed in the seed ledger") if batch.origin is Origin.LEDGER else batch.source


def rates_to_see(entry: SpeciesEntry) -> list[tuple[str, str]]:
    """Part and rate of everything that can be learned of the species, as its protocols need it."""
    found = [("seed", EXTRACTION)]
    found += [(protocol.part, name) for protocol in entry.protocols for name in protocol.rates]
    return [kind for kind in dict.fromkeys(found) if kind in KINDS]


def _rate(
    view: SpeciesView, kind: tuple[str, str], rates: Sequence[LearnedRate], codes: dict[int, str]
) -> RateView:
    batches = [batch for batch in view.batches if (batch.part, batch.rate) == kind]
    alike: dict[tuple[float, float], list[LearnedRate]] = {}
    for rate in rates:
        alike.setdefault((rate.prior_mean, rate.prior_weight), []).append(rate)
    _label, success, trial = KINDS[kind]
    return RateView(
        part=kind[0],
        rate=kind[1],
        label=kind_label(*kind),
        success=str(success),
        trial=str(trial),
        outcomes=[_outcome(view, same) for same in alike.values()],
        batches=[
            BatchView(batch, codes.get(batch.lot_id or 0, ""), *shrunk)
            for batch, shrunk in zip(batches, rates[0].shrunk, strict=True)
        ],
    )


def _outcome(view: SpeciesView, same: Sequence[LearnedRate]) -> Outcome:
    names = {protocol.key: protocol_label(protocol.name) for protocol in view.catalogue.protocols}
    paths = tuple(figure_paths(rate.path)[0] for rate in same)
    return Outcome(
        rate=same[0],
        protocols=tuple(names[rate.protocol] for rate in same if rate.protocol),
        paths=paths,
        own=tuple(path for path in paths if view.figures[path].own),
    )


def _unseen(entry: SpeciesEntry, seen: set[tuple[str, str]]) -> list[tuple[str, str]]:
    first: dict[tuple[str, str], str] = {("seed", EXTRACTION): "seed.extraction_yield"}
    for protocol in entry.protocols:
        for name in protocol.rates:
            first.setdefault((protocol.part, name), f"protocols.{protocol.key}.rates.{name}.mean")
    return [(kind_label(*kind), path) for kind, path in first.items() if kind not in seen and kind in KINDS]


def _codes(session: Session, batches: Sequence[Batch]) -> dict[int, str]:
    wanted = {batch.lot_id for batch in batches if batch.lot_id is not None}
    if not wanted:
        return {}
    return {row.id: row.code for row in session.execute(select(Lot.id, Lot.code).where(Lot.id.in_(wanted)))}
