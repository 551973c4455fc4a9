"""Two or more lots into a new one, by the six-row table; the parents' shares stay readable in the ledger."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.models import Lot
from nursery.models.movements import MovementKind
from nursery.planning import mixing
from nursery.planning.mixing import Part, Status, Verdict
from nursery.services import records
from nursery.services.ledger.mixture import identity_of, mixed_days
from nursery.services.ledger.moving import check_act, move, new_act, seed_measure, whole_act
from nursery.services.ledger.shares import OriginShare, lot_origins
from nursery.services.ledger.splitting import code_for
from nursery.services.ledger.verdicts import reasons_against


@dataclass(frozen=True, slots=True)
class Proposal:
    """A mixture before it is made: the verdict of the table, and what else stands against it, in words."""

    lots: Sequence[Lot]
    verdict: Verdict
    refusals: Sequence[str]
    origins: Mapping[int, list[OriginShare]]

    @property
    def allowed(self) -> bool:
        """Whether it may be made."""
        return not self.refusals


def judge_lots(session: Session, lots: Sequence[Lot]) -> Proposal:
    """What the table says of mixing these lots; collected lots inside earlier mixtures count one by one."""
    origins = lot_origins(session, lots)
    parts = [part_of(origin.lot) for lot in lots for origin in origins[lot.id]]
    verdict = mixing.judge_mix(parts)
    return Proposal(lots, verdict, reasons_against(lots, origins, verdict), origins)


def needs_certificate(origins: Sequence[OriginShare]) -> bool:
    """Whether a lot with these origins is a mixture that needs a master certificate of its own."""
    return mixing.judge_mix([part_of(origin.lot) for origin in origins]).needs_certificate


def part_of(lot: Lot) -> Part:
    """A collected lot as the table of mixing looks at it."""
    return Part(
        species=str(lot.species_id),
        unit=lot.population.code,
        region=lot.population.region_code.strip(),
        year=lot.ripening_year,
        status=Status(lot.population.indigenous_status.value),
        category=lot.population.category,
        basic=lot.population.basic_material,
    )


def mix_lots(
    session: Session,
    actor: str,
    *,
    amounts: Sequence[tuple[Lot, int]],
    code: str = "",
    storage_place_id: int | None = None,
    certificate_number: str = "",
    reason: str = "",
    happened_on: dt.date,
    today: dt.date,
) -> Lot:
    """A new lot of the given amount of each parent, or ``Invalid`` in words with the rule's source.

    A mixture that needs a master certificate of its own has the number given, or none yet; another keeps that of
    its parts. The new lot stands under the population of its largest share, whose region all others have too;
    every population and year in it is read by `lot_shares`.
    """
    lots = [lot for lot, _amount in amounts]
    for lot, amount in amounts:
        check_act(lot, happened_on=happened_on, today=today, amount=amount)
    proposal = judge_lots(session, lots)
    if proposal.refusals:
        raise Invalid({"lots": " ".join(proposal.refusals)})
    values = identity_of(amounts, proposal.origins)
    if storage_place_id is not None:
        values["storage_place_id"] = storage_place_id
    if certificate_number or proposal.verdict.needs_certificate:
        values["certificate_number"] = certificate_number
    values |= mixed_days(session, lots, values["storage_place_id"], happened_on)
    act = new_act()
    with whole_act(session, lots):
        mixed = Lot(**values)
        code = code_for(session, mixed, code)
        mixed = records.create(session, actor, Lot, {**values, "code": code})
        for lot, amount in amounts:
            for one, other, change in ((lot, mixed, -amount), (mixed, lot, amount)):
                move(
                    session, actor, lot=one, kind=MovementKind.MIXED, measure=seed_measure(lot), change=change,
                    reason=reason, happened_on=happened_on, act=act, other_lot=other,
                )  # fmt: skip
    return mixed
