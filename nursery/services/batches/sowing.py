"""Sowing: seed leaves its lot and a batch begins, in one act."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Container, Lot, Nursery, PlanLine, Target
from nursery.models.lots import Material
from nursery.models.movements import Measure, MovementKind
from nursery.planning.growing.words import Stage
from nursery.planning.words import Method
from nursery.services import ledger, limits, records
from nursery.services.batches.placing import fit_places, place
from nursery.services.batches.words import seeds_text, trays_text
from nursery.services.catalogue import effective_entries
from nursery.services.codes import check_lot_code, next_code
from nursery.services.keeping import course_of
from nursery.services.ledger.moving import whole_act as seed_act
from nursery.services.lot_figures import lot_figures, lot_row
from nursery.services.work.following import note_batch, note_sown

#: More trays in one batch are a slip of the keys.
MOST_TRAYS = 100_000
#: What stands in flats or in a bed has no cells yet.
WITHOUT_CELLS = (Method.PRICKED_OUT, Method.BAREROOT)


def sow(
    session: Session,
    actor: str,
    *,
    lot: Lot,
    seeds: int,
    trays: int,
    container_id: int | None,
    method: Method,
    protocol: str,
    sown_on: dt.date,
    today: dt.date,
    target_id: int | None = None,
    line_id: int | None = None,
    seeds_per_cell: int | None = None,
    nursery_id: int | None = None,
    bench_id: int | None = None,
    code: str = "",
    ready_on: dt.date | None = None,
    milligrams: int | None = None,
    notes: str = "",
) -> Batch:
    """Withdraw seed (or cuttings) from a lot and begin a batch with it.

    In flats and beds ``container_id`` says where the batch belongs, not how it stands: cells come with pricking
    out. ``milligrams`` is what was weighed out; left out, it is reckoned from the seeds by the lot's figures.

    Raises
    ------
    Invalid
        By field: for a lot on hold or with too little seed, a part that the method cannot use, a day before the
        seed was collected, a container, bench or target that does not fit, and for more seeds than the cells hold.
    """
    container = records.get(session, Container, container_id) if container_id is not None else None
    line = session.get(PlanLine, line_id) if line_id is not None else None
    refused = _faults(lot, method, seeds, trays, seeds_per_cell, container) | _wrong_target(
        session, lot, target_id
    )
    if ready_on is not None and ready_on < sown_on:
        refused["ready_on"] = _("It cannot be due before it was sown. Correct the day.")
    if nursery_id is None and container is not None:
        nursery_id = container.nursery_id
    elif nursery_id is not None:
        records.get(session, Nursery, nursery_id)
    if bench_id is not None:
        bench = records.get(session, Bench, bench_id)
        if nursery_id is not None and bench.nursery_id != nursery_id:
            refused["bench_id"] = _(
                "%(bench)s is in another nursery. Choose a bench of this one.", bench=bench.name
            )
    if refused:
        raise Invalid(refused)
    cells = None if container is None or method in WITHOUT_CELLS else container.cells_per_tray
    if seeds_per_cell is None and cells and seeds % (trays * cells) == 0:
        seeds_per_cell = seeds // (trays * cells)
    with seed_act(session, [lot]):
        taken = _withdraw(session, actor, lot, seeds, milligrams, sown_on, today)
        batch = records.create(
            session,
            actor,
            Batch,
            {
                "code": check_lot_code(code) if code else next_code(session, Batch.code, f"B{sown_on:%y}-"),
                "species_id": lot.species_id,
                "lot_id": lot.id,
                "target_id": target_id if target_id is not None else (line.target_id if line else None),
                "line_id": line.id if line else None,
                "nursery_id": nursery_id,
                "container_id": container.id if container is not None and cells else None,
                "method": method,
                "protocol": protocol,
                "sown_on": sown_on,
                "ready_on": ready_on or (line.ready_on if line else None),
                "seeds": seeds,
                "seeds_per_cell": seeds_per_cell,
                "viability": viability_on(session, lot, sown_on),
                "trays": trays,
                "cells_per_tray": cells,
                "stage": Stage.SOWN,
                "stage_on": sown_on,
                "alive": 0,
                "seed_act": taken,
                "notes": notes,
            },
        )
        if bench_id is not None:
            place(session, actor, batch=batch, bench_id=bench_id, trays=trays, from_on=sown_on, today=today)
        note_sown(session, actor, batch=batch, today=today)
    return batch


def milligrams_of(session: Session, lot: Lot, seeds: int) -> int | None:
    """What so many seeds of a lot weigh by its own figures, else the species'; None for a lot kept in pieces."""
    if lot.amount_mg is None:
        return None
    entries = effective_entries(session, {lot.species_id})
    if lot.species_id in entries:
        figures = lot_figures(lot_row(lot), entries).iloc[0]
        tsw, purity = float(figures["tsw_g"]), float(figures["purity"])
    elif lot.tsw_g is not None:
        tsw, purity = lot.tsw_g, lot.purity or 1.0
    else:
        raise Invalid(
            {
                "seeds": _(
                    "What a seed of %(lot)s weighs is not known. Write its thousand-seed weight down, or give the"
                    " grams that were sown.",
                    lot=lot.code,
                )
            }
        )
    return max(math.floor(seeds * tsw / purity + 1e-6), 1)


def viability_on(session: Session, lot: Lot, day: dt.date) -> float | None:
    """What the lot's seed is worth on a day, as plans reckon it; None for a species without figures."""
    entry = effective_entries(session, {lot.species_id}).get(lot.species_id)
    if entry is None:
        return lot.germination
    return min(max(course_of(lot, entry, day).today, 0.0), 1.0)


def _withdraw(
    session: Session, actor: str, lot: Lot, seeds: int, milligrams: int | None, sown_on: dt.date, today: dt.date
) -> str:
    if lot.amount_mg is None:
        measure, amount = Measure.PIECES, seeds
    else:
        measure = Measure.SEED
        amount = milligrams if milligrams is not None else milligrams_of(session, lot, seeds) or 0
    try:
        return ledger.take_from_lot(
            session, actor, lot=lot, kind=MovementKind.WITHDRAWN, measure=measure, amount=amount,
            reason=_("Sown"), happened_on=sown_on, today=today,
        ).act  # fmt: skip
    except Invalid as refusal:
        named = {"amount": "seeds", "happened_on": "sown_on"}
        raise Invalid({named.get(name, name): text for name, text in refusal.errors.items()}) from refusal


def _faults(
    lot: Lot, method: Method, seeds: int, trays: int, seeds_per_cell: int | None, container: Container | None
) -> dict[str, str]:
    refused: dict[str, Any] = {}
    if refusal := limits.PLANTS.refusal(seeds):
        refused["seeds"] = refusal
    if not 1 <= trays <= MOST_TRAYS:
        refused["trays"] = limits.Bounds(1, MOST_TRAYS).refusal(trays)
    if seeds_per_cell is not None and (refusal := limits.SEEDS_PER_CELL.refusal(seeds_per_cell)):
        refused["seeds_per_cell"] = refusal
    if lot.archived_at is not None:
        refused["lot_id"] = _("%(lot)s is archived. Bring it back before sowing it.", lot=lot.code)
    if (lot.material is Material.CUTTINGS) != (method is Method.CUTTINGS):
        refused["method"] = (
            _("%(lot)s is of cuttings; choose cuttings as the method.", lot=lot.code)
            if lot.material is Material.CUTTINGS
            else _("%(lot)s is of seed; choose a way of sowing.", lot=lot.code)
        )
    if container is None and method not in WITHOUT_CELLS:
        refused["container_id"] = _("Choose the container in whose cells it is sown.")
    if not refused and container is not None and method not in WITHOUT_CELLS:
        refused |= _no_room(seeds, trays, seeds_per_cell, container.cells_per_tray)
    return refused


def _no_room(seeds: int, trays: int, seeds_per_cell: int | None, cells_per_tray: int) -> dict[str, str]:
    """Why so many seeds cannot lie in so many trays."""
    cells = trays * cells_per_tray
    if seeds_per_cell is None:
        if seeds <= cells * limits.SEEDS_PER_CELL.high:
            return {}
        return {
            "trays": _(
                "%(seeds)s in %(trays)s of %(cells)s cells would be more than %(most)s in each cell. Correct the"
                " seeds or the trays.",
                seeds=seeds_text(seeds), trays=trays_text(trays), cells=cells_per_tray,
                most=format_number(limits.SEEDS_PER_CELL.high),
            )
        }  # fmt: skip
    if seeds <= cells * seeds_per_cell:
        return {}
    return {
        "trays": _(
            "%(seeds)s at %(each)s in each cell need %(needed)s of %(cells)s cells; %(trays)s have room for"
            " %(room)s. Correct the seeds or the trays, or leave the seeds in each cell open where they differ.",
            seeds=seeds_text(seeds), each=seeds_per_cell, cells=cells_per_tray, trays=trays_text(trays),
            needed=trays_text(trays_needed(seeds, seeds_per_cell, cells_per_tray)),
            room=format_number(cells * seeds_per_cell),
        )
    }  # fmt: skip


def trays_needed(seeds: int, seeds_per_cell: int, cells_per_tray: int) -> int:
    """Trays that so many seeds fill, the last one perhaps in part."""
    return math.ceil(math.ceil(seeds / seeds_per_cell) / cells_per_tray)


def half_empty(batch: Batch) -> str:
    """What is odd of a sowing that left whole trays empty; nothing where that cannot be told."""
    if batch.cells_per_tray is None:
        return ""
    needed = trays_needed(batch.seeds, batch.seeds_per_cell or 1, batch.cells_per_tray)
    if needed >= batch.trays:
        return ""
    return _(
        "%(seeds)s at %(each)s in each cell fill %(needed)s of %(cells)s cells, but %(trays)s were written down."
        " If a number is wrong, take the sowing back and write it down again.",
        seeds=seeds_text(batch.seeds),
        each=batch.seeds_per_cell or 1,
        needed=trays_text(needed),
        cells=batch.cells_per_tray,
        trays=trays_text(batch.trays),
    )


def _wrong_target(session: Session, lot: Lot, target_id: int | None) -> dict[str, str]:
    if target_id is None:
        return {}
    target = records.get(session, Target, target_id)
    if target.species_id == lot.species_id:
        return {}
    return {
        "target_id": _(
            "%(lot)s is of %(species)s, but that target wants another species. Choose a target of this one.",
            lot=lot.code,
            species=lot.species.scientific_name,
        )
    }


def unsow(session: Session, actor: str, *, batch: Batch, reason: str, today: dt.date) -> Batch:
    """Take a sowing back that was written down by mistake: the seed returns to its lot, the batch is put aside.

    Only while nothing has been counted of it; afterwards the plants are written off, with the cause.
    """
    if batch.alive or batch.counts or not batch.seed_act or batch.archived_at is not None:
        raise Invalid(
            {
                "reason": _(
                    "%(batch)s has been counted or has no seed to give back. Write its plants off instead.",
                    batch=batch.code,
                )
            }
        )
    if today < batch.sown_on:
        raise Invalid({"reason": _("It was sown on %(day)s.", day=format_date(batch.sown_on))})
    with session.begin_nested():
        ledger.reverse_act(session, actor, act=batch.seed_act, reason=reason, today=today)
        batch.trays = 0
        fit_places(session, actor, batch, today)
        records.archive(session, actor, batch)
        note_batch(session, actor, batch=batch, today=today)
    return batch
