"""What each act on a batch asks, warns of, does and tells."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from babel.support import LazyProxy
from flask import flash

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Batch
from nursery.models.dispatches import ReturnDecision
from nursery.planning.growing.words import Cause, Stage
from nursery.services import batches
from nursery.services.batches.thinning import one_per_cell
from nursery.services.batches.words import STAGE_LABELS, plants_text, trays_text
from nursery.services.dispatches.direct import bring_back_directly, send_directly
from nursery.services.health.quarantine import refusal, standing_quarantine
from nursery.services.origin.of_batches import kept_from
from nursery.web.batches.forms import ActForm
from nursery.web.session import actor, db, today

#: What was done, told to the person, and the batch whose page comes next.
Done = tuple[str, Batch]

_LIFTING = _l("Full trays are heavy: lift with a straight back, in pairs, or use a trolley.")


@dataclass(frozen=True)
class Act:
    """One kind of work on a batch."""

    title: LazyProxy
    lead: LazyProxy
    button: LazyProxy
    fields: tuple[str, ...]
    run: Callable[[Batch, ActForm], Done]
    #: Whether the batch can have it done.
    fits: Callable[[Batch], bool] = lambda batch: batch.alive > 0
    #: What the form is filled with.
    filled: Callable[[Batch], Mapping[str, Any]] = lambda _batch: {}
    caution: LazyProxy | str = ""
    #: Labels of fields in this act's own words.
    labels: Mapping[str, LazyProxy] | None = None
    hints: Mapping[str, LazyProxy] | None = None
    #: Whether a remark is kept with it.
    remark: bool = True
    icon: str = "edit"
    #: Nothing in quarantine leaves; the page says so before anybody types.
    leaves: bool = False
    #: Whether it changes the plants of days before a count that stands.
    may_be_late: bool = False


def _lose(batch: Batch, form: ActForm) -> Done:
    batches.lose(
        db(), actor(), batch=batch, plants=form["plants"].data, cause=form["cause"].data,
        trays_left=form["trays_left"].data, **form.circumstances,
    )  # fmt: skip
    return _("%(plants)s of %(batch)s were written off.", plants=plants_text(form["plants"].data),
             batch=batch.code), batch  # fmt: skip


def _thin(batch: Batch, form: ActForm) -> Done:
    row = batches.thin(db(), actor(), batch=batch, left=form["left"].data, **form.circumstances)
    return _("%(plants)s were pulled; %(left)s are left.", plants=plants_text(-row.change),
             left=plants_text(batch.alive)), batch  # fmt: skip


def _prick(batch: Batch, form: ActForm) -> Done:
    moved = batches.prick_out(
        db(), actor(), batch=batch, pricked=form["pricked"].data, container_id=form["container_id"].data,
        trays=form["trays"].data, surplus=form["surplus"].data, bench_id=form["onto_bench_id"].data,
        **form.circumstances,
    )  # fmt: skip
    return _("%(plants)s were pricked out into %(trays)s.", plants=plants_text(form["pricked"].data),
             trays=trays_text(moved.trays)), moved  # fmt: skip


def _split(batch: Batch, form: ActForm) -> Done:
    part = batches.split(
        db(), actor(), batch=batch, plants=form["plants"].data if "plants" in form else 0,
        trays=form["trays"].data, code=form["code"].data or "", target_id=form["target_id"].data,
        **form.circumstances,
    )  # fmt: skip
    what = plants_text(part.alive) if part.alive else trays_text(part.trays)
    return _("%(what)s of %(batch)s became batch %(part)s. Give it labels of its own.", what=what,
             batch=batch.code, part=part.code), part  # fmt: skip


def _dispatch(batch: Batch, form: ActForm) -> Done:
    row = send_directly(
        db(), actor(), batch=batch, site_id=form["site_id"].data, plants=form["plants"].data,
        trays_left=form["trays_left"].data, **form.circumstances,
    )  # fmt: skip
    site = row.site.name if row.site else ""
    # The ledger holds what happened all the same.
    for cell in kept_from(db(), batch, form["site_id"].data, today()):
        flash(
            _("By the rules of origin this seed is not for %(site)s: %(rules)s. If plants went there by mistake,"
              " fetch them back; if only the entry is wrong, take it back.", site=site, rules=cell.against),
            "caution",
        )  # fmt: skip
    return _("%(plants)s of %(batch)s went to %(site)s.", plants=plants_text(form["plants"].data),
             batch=batch.code, site=site), batch  # fmt: skip


def _bring_back(batch: Batch, form: ActForm) -> Done:
    decision = form["decision"].data
    bring_back_directly(
        db(), actor(), batch=batch, site_id=form["site_id"].data, plants=form["plants"].data, decision=decision,
        condition=form["condition"].data or "", **form.circumstances,
    )  # fmt: skip
    plants = plants_text(form["plants"].data)
    if decision is ReturnDecision.BACK_IN_STOCK:
        return _("%(plants)s are back in %(batch)s.", plants=plants, batch=batch.code), batch
    if decision is ReturnDecision.DISCARDED:
        return _("%(plants)s of %(batch)s came back and were discarded.", plants=plants, batch=batch.code), batch
    return _(
        "%(plants)s of %(batch)s came back. They stand apart until somebody decides what becomes of them.",
        plants=plants, batch=batch.code,
    ), batch  # fmt: skip


def _place(batch: Batch, form: ActForm) -> Done:
    batches.place(
        db(), actor(), batch=batch, bench_id=form["bench_id"].data, trays=form["trays"].data or 0,
        from_on=form["happened_on"].data, today=today(),
    )  # fmt: skip
    return _("%(trays)s stand there now.", trays=trays_text(form["trays"].data or 0)), batch


def _move(batch: Batch, form: ActForm) -> Done:
    row = batches.move_trays(
        db(), actor(), batch=batch, from_bench_id=form["from_bench_id"].data, to_bench_id=form["bench_id"].data,
        trays=form["trays"].data or 0, on=form["happened_on"].data, today=today(),
    )  # fmt: skip
    return _("%(trays)s moved to %(bench)s.", trays=trays_text(row.trays), bench=row.bench.name), batch


def _stage(batch: Batch, form: ActForm) -> Done:
    batches.set_stage(
        db(), actor(), batch=batch, stage=form["stage"].data, on=form["happened_on"].data, today=today()
    )
    return _("%(batch)s: %(stage)s.", batch=batch.code, stage=STAGE_LABELS[batch.stage]), batch


def _unplaced(batch: Batch) -> int:
    return batch.trays - sum(one.trays for one in batches.standing(db(), batch))


def _from(batch: Batch) -> Mapping[str, Any]:
    places: Sequence[Any] = batches.standing(db(), batch)
    return {"from_bench_id": places[0].bench_id, "trays": places[0].trays} if places else {}


def _container_wanted(batch: Batch) -> int | None:
    """What the plan, else the target, wants it pricked out into."""
    if batch.line is not None:
        return batch.line.container_id
    return batch.target.container_id if batch.target is not None else None


def _to_site(batch: Batch) -> Mapping[str, Any]:
    site_id = batch.target.site_id if batch.target else None
    return {"site_id": site_id, "plants": batch.alive}


def _gone_to(batch: Batch) -> Mapping[str, Any]:
    sent = batches.dispatched_to(db(), batch)
    return {"site_id": next(iter(sent))} if len(sent) == 1 else {}


ACTS = {
    "lose": Act(
        _l("Lost plants"),
        _l("What died or was thrown away, and why. Causes teach what to guard against next season."),
        _l("Write the loss down"),
        ("plants", "cause", "trays_left"),
        _lose,
        filled=lambda _batch: {"cause": Cause.UNKNOWN},
        hints={"trays_left": _l("Left empty, they stay as they are.")},
        caution=_l(
            "Sick plants and their substrate may carry disease: bag them where they stand, clean tools and hands,"
            " and keep them off the compost."
        ),
        may_be_late=True,
        icon="stop",
    ),
    "move": Act(
        _l("Move to another bench"),
        _l("Trays from one bench to another."),
        _l("Write the move down"),
        ("from_bench_id", "bench_id", "trays"),
        _move,
        fits=lambda batch: bool(batches.standing(db(), batch)),
        filled=_from,
        caution=_LIFTING,
        labels={"bench_id": _l("To bench")},
        remark=False,
        icon="next",
        leaves=True,
    ),
    "place": Act(
        _l("Put on a bench"),
        _l("Trays that stand nowhere yet."),
        _l("Put them there"),
        ("bench_id", "trays"),
        _place,
        fits=lambda batch: _unplaced(batch) > 0,
        filled=lambda batch: {"trays": _unplaced(batch)},
        remark=False,
        caution=_LIFTING,
        icon="tray",
    ),
    "prick-out": Act(
        _l("Prick out"),
        _l("From flats into trays of cells. Count what was pricked; what is left over and thrown away is a loss."),
        _l("Write the pricking out down"),
        ("pricked", "container_id", "trays", "surplus", "onto_bench_id"),
        _prick,
        fits=lambda batch: batch.cells_per_tray is None and batch.trays > 0,
        filled=lambda batch: {
            "container_id": _container_wanted(batch),
            "pricked": batch.alive or None,
        },
        labels={"trays": _l("Trays filled")},
        hints={
            "trays": _l("Left empty, as many as the cells need."),
            "onto_bench_id": _l("Left open, they stand where the flats stood."),
        },
        icon="plant",
        leaves=True,
    ),
    "thin": Act(
        _l("Thin"),
        _l("Surplus seedlings are pulled, so that each cell keeps one."),
        _l("Write the thinning down"),
        ("left",),
        _thin,
        fits=lambda batch: batch.alive > 1 and batch.stage in {Stage.EMERGED, Stage.GROWING},
        filled=lambda batch: {"left": one_per_cell(batch)},
        may_be_late=True,
        icon="plant",
    ),
    "split": Act(
        _l("Split"),
        _l("Part of the batch gets a code of its own; origin and history stay with it."),
        _l("Split the batch"),
        ("plants", "trays", "target_id", "code"),
        _split,
        fits=lambda batch: batch.alive > 1 or (batch.alive == 0 and batch.trays > 1 and batch.lot_id is not None),
        filled=lambda batch: {"target_id": batch.target_id},
        labels={"plants": _l("Plants for the new batch"), "trays": _l("Trays for the new batch")},
        hints={"trays": _l("Left empty, it is in proportion to the plants.")},
        icon="tray",
        leaves=True,
    ),
    "dispatch": Act(
        _l("Dispatch"),
        _l("Plants that leave for a planting site. A load of one line is written down with it."),
        _l("Write the dispatch down"),
        ("site_id", "plants", "trays_left"),
        _dispatch,
        filled=_to_site,
        caution=_LIFTING,
        may_be_late=True,
        icon="place",
        leaves=True,
    ),
    "bring-back": Act(
        _l("Came back"),
        _l("Plants that were dispatched and came back. They stand apart until somebody decides about them."),
        _l("Write the return down"),
        ("site_id", "plants", "condition", "decision"),
        _bring_back,
        fits=lambda batch: bool(batches.dispatched_to(db(), batch)),
        filled=_gone_to,
        labels={"site_id": _l("Back from"), "reason": _l("Reason of the decision")},
        caution=_l(
            "Plants that left do not come back among the others: they may bring soil and disease with them (clean"
            " nursery practice, Oregon State University). Put them apart, off the benches."
        ),
        may_be_late=True,
        icon="previous",
    ),
    "stage": Act(
        _l("Change stage"),
        _l("For a batch that went out to harden, or is ready, without a count."),
        _l("Write it down"),
        ("stage",),
        _stage,
        remark=False,
        icon="next",
    ),
}


def fitting(batch: Batch) -> list[tuple[str, Act]]:
    """Acts that can be done with the batch now."""
    return [] if batch.archived_at else [(name, act) for name, act in ACTS.items() if act.fits(batch)]


def held_text(batch: Batch, act: Act) -> str:
    """Why the act will be refused, for a batch in quarantine; empty where it will not."""
    held = standing_quarantine(db(), batch) if act.leaves else None
    return refusal(held) if held is not None else ""
