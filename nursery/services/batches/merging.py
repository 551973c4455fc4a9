"""Several batches become one, where their lots may be mixed; the shares of each stay readable in the ledger."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.models import Batch, Lot
from nursery.models.batches import PlantMovementKind
from nursery.planning.growing.words import STAGES
from nursery.planning.mixing import Verdict, judge_mix
from nursery.services import records
from nursery.services.batches.moving import alive_now, alter, check_act, move, new_act, whole_act
from nursery.services.batches.origins import lots_of
from nursery.services.batches.placing import fit_places
from nursery.services.batches.settling import refuse_before_count
from nursery.services.batches.splitting import code_for
from nursery.services.health.quarantine import refusal, standing_quarantines
from nursery.services.ledger.mixing import part_of
from nursery.services.ledger.shares import lot_origins
from nursery.services.ledger.verdicts import refusals_of
from nursery.services.work.following import note_batch


@dataclass(frozen=True, slots=True)
class Merger:
    """A merger before it is made: what the rules of mixing say, and what else stands against it."""

    batches: Sequence[Batch]
    lots: Sequence[Lot]
    #: None for plants of one lot, to which no rule of mixing applies.
    verdict: Verdict | None
    refusals: Sequence[str]

    @property
    def needs_certificate(self) -> bool:
        """Whether the mixture needs a master certificate of its own."""
        return self.verdict is not None and self.verdict.needs_certificate


def judge_merger(session: Session, batches: Sequence[Batch]) -> Merger:
    """What stands for and against merging these; collected lots inside earlier mixtures count one by one."""
    found = lots_of(session, batches)
    lots = list({lot.id: lot for shares in found.values() for lot, _share in shares}.values())
    verdict = None
    refused = _reasons(session, batches)
    if len(lots) > 1:
        origins = lot_origins(session, lots)
        collected = list({one.lot.id: one.lot for lot in lots for one in origins[lot.id]}.values())
        verdict = judge_mix([part_of(lot) for lot in collected])
        refused += refusals_of(verdict, collected)
        if len({lot.material for lot in lots}) > 1:
            refused.append(_("Plants of seed and of cuttings are not merged."))
    return Merger(batches, lots, verdict, refused)


def merge(
    session: Session,
    actor: str,
    *,
    batches: Sequence[Batch],
    happened_on: dt.date,
    today: dt.date,
    code: str = "",
    trays: int | None = None,
    reason: str = "",
) -> Batch:
    """All plants of several batches into a new one; the old ones are left empty.

    A batch of one lot stays of that lot; of several it has none, and its shares are read by `origins`.

    Raises
    ------
    Invalid
        At ``batches`` with every reason against it and where the rule is written.
    """
    for batch in batches:
        check_act(batch, happened_on=happened_on, today=today)
        refuse_before_count(session, batch, happened_on)
        alive_now(session, batch)
    merger = judge_merger(session, batches)
    if merger.refusals:
        raise Invalid({"batches": " ".join(merger.refusals)})
    every = sum(batch.trays for batch in batches)
    if trays is not None and not 1 <= trays <= every:
        raise Invalid({"trays": _("Together they stand in %(trays)s trays; give from 1 to that.", trays=every)})
    act = new_act()
    with whole_act(session, batches):
        values = _together(batches, merger.lots) | {
            "code": code_for(session, code, min(batch.sown_on for batch in batches)),
            "trays": trays or every,
        }
        merged = records.create(session, actor, Batch, values)
        for batch in batches:
            plants = batch.alive
            for one, other, change in ((batch, merged, -plants), (merged, batch, plants)):
                move(
                    session, actor, batch=one, kind=PlantMovementKind.MERGED, change=change, reason=reason,
                    happened_on=happened_on, act=act, other_batch=other,
                )  # fmt: skip
            alter(session, actor, batch, {"trays": 0}, act=act)
            fit_places(session, actor, batch, happened_on)
        for one in (*batches, merged):
            note_batch(session, actor, batch=one, today=today)
    return merged


def _reasons(session: Session, batches: Sequence[Batch]) -> list[str]:
    ids = {batch.id for batch in batches}
    if len(ids) < 2 or len(ids) != len(batches):
        return [_("Choose at least two different batches.")]
    found = []
    if len({batch.species_id for batch in batches}) > 1:
        found.append(
            _(
                "A batch is of one species; these are of %(species)s.",
                species=", ".join(sorted({batch.species.scientific_name for batch in batches})),
            )
        )
    if len({(batch.container_id, batch.cells_per_tray) for batch in batches}) > 1:
        found.append(_("They stand in different containers. Pot them on into one kind first."))
    if len({batch.nursery_id for batch in batches}) > 1:
        found.append(_("They stand in different nurseries. Bring them to one first."))
    found += [
        _("%(batch)s has no plants alive to merge. Count it first.", batch=batch.code)
        for batch in batches
        if not batch.alive
    ]
    held = standing_quarantines(session, ids)
    found += [refusal(held[batch.id]) for batch in batches if batch.id in held]
    return found


def _together(batches: Sequence[Batch], lots: Sequence[Lot]) -> dict[str, Any]:
    """What the new batch is: as old as its oldest part, as far as its slowest, due with its last."""
    slowest = min(batches, key=lambda batch: STAGES.index(batch.stage))
    due = [batch.ready_on for batch in batches if batch.ready_on is not None]
    return {
        "species_id": batches[0].species_id,
        "lot_id": lots[0].id if len(lots) == 1 else None,
        "target_id": _same(batch.target_id for batch in batches),
        "line_id": _same(batch.line_id for batch in batches),
        "nursery_id": batches[0].nursery_id,
        "container_id": batches[0].container_id,
        "method": _same(batch.method for batch in batches) or batches[0].method,
        "protocol": _same(batch.protocol for batch in batches) or "",
        "sown_on": min(batch.sown_on for batch in batches),
        "ready_on": max(due) if len(due) == len(batches) else None,
        # The seeds sown stay with the batches they were sown in.
        "seeds": 0,
        "seeds_per_cell": _same(batch.seeds_per_cell for batch in batches),
        "viability": None,
        "cells_per_tray": batches[0].cells_per_tray,
        "stage": slowest.stage,
        "stage_on": max(batch.stage_on for batch in batches if batch.stage is slowest.stage),
        "alive": 0,
        "seed_act": "",
    }


def _same(values: Any) -> Any:
    found = set(values)
    return found.pop() if len(found) == 1 else None
