"""Batches: what was sown of one lot on one day, where it stands, and the ledger of its plants."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, BigInteger, CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.lots import Lot
from nursery.models.only_added import only_added
from nursery.models.places import Container, Nursery, Site
from nursery.models.plans import PlanLine
from nursery.models.species import Species
from nursery.models.targets import Target
from nursery.models.types import UtcDateTime, at_least, choice, fraction, utc_now
from nursery.planning.growing.words import Cause, Stage
from nursery.planning.words import Method


class Bench(Record):
    """A bench, bed or bay of a nursery."""

    __tablename__ = "benches"
    __table_args__ = (
        CheckConstraint("area_m2 > 0", name="area_m2"),
        Index("uq_benches_name", "nursery_id", "name", unique=True),
    )

    nursery_id: Mapped[int] = mapped_column(ForeignKey("nurseries.id"))
    name: Mapped[str] = mapped_column(String(80))
    #: Usable area; paths left out.
    area_m2: Mapped[float]

    nursery: Mapped[Nursery] = relationship()


class Batch(Record):
    """One lot sown (or struck) on one day in one kind of container, and the plants it gives."""

    __tablename__ = "batches"
    __table_args__ = (
        at_least("seeds", 0),
        at_least("trays", 0),
        at_least("cells_per_tray", 1),
        at_least("alive", 0),
        CheckConstraint("seeds_per_cell > 0", name="seeds_per_cell"),
        fraction("viability"),
        Index("ix_batches_sown_on_id", "sown_on", "id"),
    )

    code: Mapped[str] = mapped_column(String(24), unique=True)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    #: Empty for a batch merged from several lots: its origins are read from the ledger.
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lots.id"), index=True)
    #: What it was sown for; empty for a batch that anyone may have.
    target_id: Mapped[int | None] = mapped_column(ForeignKey("targets.id"), index=True)
    #: The line of the adopted plan that asked for it.
    line_id: Mapped[int | None] = mapped_column(ForeignKey("plan_lines.id"), index=True)
    nursery_id: Mapped[int | None] = mapped_column(ForeignKey("nurseries.id"), index=True)
    #: Empty in flats or a bed.
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"), index=True)
    method: Mapped[Method] = mapped_column(choice(Method, "batch_method"))
    #: Key of the propagation protocol in the catalogue.
    protocol: Mapped[str] = mapped_column(String(60), default="", server_default="")
    sown_on: Mapped[dt.date]
    #: When its plants are due, as reckoned at sowing.
    ready_on: Mapped[dt.date | None]
    seeds: Mapped[int] = mapped_column(BigInteger)
    seeds_per_cell: Mapped[int | None]
    #: Of the seed on the day of sowing, 0–1.
    viability: Mapped[float | None]
    #: Trays (or flats) in which it stands now.
    trays: Mapped[int]
    #: Empty in flats or a bed.
    cells_per_tray: Mapped[int | None]
    stage: Mapped[Stage] = mapped_column(choice(Stage, "stage"), default=Stage.SOWN)
    #: When it came to this stage.
    stage_on: Mapped[dt.date]
    #: Plants alive: the sum of its movements.
    alive: Mapped[int] = mapped_column(default=0, server_default="0")
    #: Mark of the seed ledger's act by which its seed was withdrawn; empty for seed that came from elsewhere.
    seed_act: Mapped[str] = mapped_column(String(32), default="", server_default="", index=True)

    species: Mapped[Species] = relationship()
    lot: Mapped[Lot | None] = relationship()
    target: Mapped[Target | None] = relationship()
    line: Mapped[PlanLine | None] = relationship()
    nursery: Mapped[Nursery | None] = relationship()
    container: Mapped[Container | None] = relationship()
    placements: Mapped[list[Placement]] = relationship(back_populates="batch", order_by="Placement.id")
    counts: Mapped[list[Count]] = relationship(back_populates="batch", order_by="Count.id")


class Placement(Base):
    """Trays of a batch on a bench, from one day to another; a batch may stand on several benches at once."""

    __tablename__ = "placements"
    __table_args__ = (
        at_least("trays", 1),
        CheckConstraint("until_on >= from_on", name="days"),
        Index("ix_placements_bench_id_until_on", "bench_id", "until_on"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"), index=True)
    bench_id: Mapped[int] = mapped_column(ForeignKey("benches.id"))
    trays: Mapped[int]
    from_on: Mapped[dt.date]
    #: The day it left; empty while it stands there.
    until_on: Mapped[dt.date | None]
    person: Mapped[str] = mapped_column(String(80))

    batch: Mapped[Batch] = relationship(back_populates="placements")
    bench: Mapped[Bench] = relationship()


class PlantMovementKind(StrEnum):
    """Why the number of plants changed."""

    COUNTED = "counted"
    LOST = "lost"
    DISPATCHED = "dispatched"
    RETURNED = "returned"
    SPLIT = "split"
    MERGED = "merged"
    REVERSAL = "reversal"


class PlantMovement(Base):
    """One change of one batch's plants. Rows are only ever added; a mistake is undone by a reversal.

    Plants come in by counts (and splits and merges), and leave as lost or dispatched: what came in is always what
    is alive, lost and dispatched.
    """

    __tablename__ = "plant_movements"
    __table_args__ = (
        CheckConstraint("change <> 0", name="change"),
        CheckConstraint("(kind = 'reversal') = (reverses_id IS NOT NULL)", name="reverses"),
        CheckConstraint("kind <> 'lost' OR (cause IS NOT NULL AND change < 0)", name="lost"),
        CheckConstraint("kind <> 'dispatched' OR (site_id IS NOT NULL AND change < 0)", name="dispatched"),
        Index("ix_plant_movements_batch_id_id", "batch_id", "id"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"))
    kind: Mapped[PlantMovementKind] = mapped_column(choice(PlantMovementKind, "plant_movement_kind"))
    #: Plants; below zero for what leaves the batch.
    change: Mapped[int]
    cause: Mapped[Cause | None] = mapped_column(choice(Cause, "cause"))
    reason: Mapped[str] = mapped_column(default="", server_default="")
    person: Mapped[str] = mapped_column(String(80))
    happened_on: Mapped[dt.date]
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Movements of one act carry the same mark.
    act: Mapped[str] = mapped_column(String(32), index=True)
    #: The batch on the other side of a split or a merger.
    other_batch_id: Mapped[int | None] = mapped_column(ForeignKey("batches.id"), index=True)
    #: Where dispatched plants went.
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"), index=True)
    target_id: Mapped[int | None] = mapped_column(ForeignKey("targets.id"), index=True)
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("plant_movements.id"), unique=True)

    batch: Mapped[Batch] = relationship(foreign_keys=[batch_id])
    other_batch: Mapped[Batch | None] = relationship(foreign_keys=[other_batch_id])
    site: Mapped[Site | None] = relationship()


only_added(PlantMovement.metadata.tables["plant_movements"])


class Count(Base):
    """What was counted of a batch at one stage: every tray, or some of them with the interval that leaves."""

    __tablename__ = "counts"
    __table_args__ = (
        at_least("plants", 0),
        at_least("low", 0),
        CheckConstraint("low <= plants AND plants <= high", name="interval"),
        at_least("trays", 1),
        CheckConstraint("(withdrawn_at IS NULL) = (withdrawn_reason = '')", name="withdrawn"),
        Index("ix_counts_batch_id_counted_on", "batch_id", "counted_on"),
    )

    batch_id: Mapped[int] = mapped_column(ForeignKey("batches.id"))
    stage: Mapped[Stage] = mapped_column(choice(Stage, "count_stage"))
    counted_on: Mapped[dt.date]
    #: Plants of the whole batch, and the interval (95 %); all three are equal in a full count.
    plants: Mapped[int]
    low: Mapped[int]
    high: Mapped[int]
    #: Trays it had; ``sample`` is what was counted in each of those looked at, empty in a full count.
    trays: Mapped[int]
    sample: Mapped[list[int] | None] = mapped_column(JSON(none_as_null=True))
    #: What the batch was thought to hold just before: alive plants, or seeds sown at the first count.
    before: Mapped[int] = mapped_column(BigInteger)
    #: Sizes seen at grading: ``{grade: plants}``.
    grades: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    person: Mapped[str] = mapped_column(String(80))
    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Mark of the ledger's act that this count made; empty where nothing changed.
    act: Mapped[str] = mapped_column(String(32), default="", server_default="")
    notes: Mapped[str] = mapped_column(default="", server_default="")
    withdrawn_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    withdrawn_by: Mapped[str] = mapped_column(String(80), default="", server_default="")
    withdrawn_reason: Mapped[str] = mapped_column(default="", server_default="")

    batch: Mapped[Batch] = relationship(back_populates="counts")
