"""A plan, frozen with its inputs and results: an old label can always be explained."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, BigInteger, ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base
from nursery.models.types import UtcDateTime, at_least, choice, utc_now
from nursery.planning.origin.words import NeedPurpose, NeedSource, Source, Verdict
from nursery.planning.words import Method


class LineStatus(StrEnum):
    """What the line needs of a person."""

    ON_TRACK = "on-track"
    COLLECT = "collect"
    SHORT = "short"
    LATE = "late"


class Plan(Base):
    """One calculation of the whole plan, kept as it was."""

    __tablename__ = "plans"
    __table_args__ = (
        Index(
            "uq_plans_adopted", "is_adopted", unique=True,
            sqlite_where=text("is_adopted"), postgresql_where=text("is_adopted"),
        ),
    )  # fmt: skip

    label: Mapped[str] = mapped_column(String(120))
    created_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    person: Mapped[str] = mapped_column(String(80))
    #: The day the plan was reckoned from.
    as_of: Mapped[dt.date]
    #: SHA-256 of the inputs in canonical form: equal fingerprints mean equal plans.
    fingerprint: Mapped[str] = mapped_column(String(64), index=True)
    engine_version: Mapped[str] = mapped_column(String(20))
    #: Everything the calculation was given.
    inputs: Mapped[dict[str, Any]] = mapped_column(JSON, deferred=True)
    #: How the lots were shared out: gap, seconds and parts of the optimisation, and what a person decided.
    allocation: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    is_adopted: Mapped[bool] = mapped_column(default=False)
    adopted_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    adopted_by: Mapped[str | None] = mapped_column(String(80))

    lines: Mapped[list[PlanLine]] = relationship(back_populates="plan", order_by="PlanLine.id")
    needs: Mapped[list[CollectionNeed]] = relationship(back_populates="plan", order_by="CollectionNeed.id")


class CollectionNeed(Base):
    """Seed that no lot can give: what, where, how much and when to collect.

    One of the purpose ``shares`` is not needed for the number of plants: the lines have enough, of other sources
    than their site's strategy asks for.
    """

    __tablename__ = "collection_needs"
    __table_args__ = (at_least("seeds", 0), at_least("grams", 0))

    plan_id: Mapped[int] = mapped_column(ForeignKey("plans.id"), index=True)
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    species_name: Mapped[str] = mapped_column(String(120))
    #: Of the sites it is for, as it holds for the species; ``source`` says how near to that it is to be collected.
    region_code: Mapped[str] = mapped_column(String(24))
    #: Empty where the region alone tells.
    basin: Mapped[str] = mapped_column(String(80))
    source: Mapped[NeedSource] = mapped_column(
        choice(NeedSource, "need_source"), default=NeedSource.REGION, server_default=NeedSource.REGION.value
    )
    purpose: Mapped[NeedPurpose] = mapped_column(
        choice(NeedPurpose, "need_purpose"), default=NeedPurpose.PLANTS, server_default=NeedPurpose.PLANTS.value
    )
    #: Collecting season: first and last day; the year is that of ``opens_on``.
    opens_on: Mapped[dt.date]
    closes_on: Mapped[dt.date]
    seeds: Mapped[int] = mapped_column(BigInteger)
    #: Clean seed; empty for cuttings, which are counted.
    grams: Mapped[float | None]
    fruit_kg: Mapped[float | None]
    mothers: Mapped[int]
    plants: Mapped[int]

    plan: Mapped[Plan] = relationship(back_populates="needs")
    parts: Mapped[list[NeedPart]] = relationship(back_populates="need", order_by="NeedPart.id")


class NeedPart(Base):
    """What of a need is for one line."""

    __tablename__ = "need_parts"
    __table_args__ = (UniqueConstraint("need_id", "line_id"), at_least("seeds", 0), at_least("plants", 0))

    need_id: Mapped[int] = mapped_column(ForeignKey("collection_needs.id"))
    line_id: Mapped[int] = mapped_column(ForeignKey("plan_lines.id"), index=True)
    #: Or cuttings.
    seeds: Mapped[int] = mapped_column(BigInteger)
    plants: Mapped[int]

    need: Mapped[CollectionNeed] = relationship(back_populates="parts")
    line: Mapped[PlanLine] = relationship(back_populates="need_parts")


class PlanLine(Base):
    """The plan for one target."""

    __tablename__ = "plan_lines"
    __table_args__ = (
        Index("ix_plan_lines_plan_id_sow_on_id", "plan_id", "sow_on", "id"),
        at_least("trays", 0),
        at_least("seeds", 0),
    )

    plan_id: Mapped[int] = mapped_column(ForeignKey("plans.id"))
    target_id: Mapped[int] = mapped_column(ForeignKey("targets.id"), index=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"), index=True)
    site_name: Mapped[str] = mapped_column(String(120))
    species_id: Mapped[int] = mapped_column(ForeignKey("species.id"), index=True)
    species_name: Mapped[str] = mapped_column(String(120))
    season: Mapped[int]
    status: Mapped[LineStatus] = mapped_column(choice(LineStatus, "status"))
    wanted: Mapped[int]
    plants_to_plant: Mapped[int]
    ready_plants: Mapped[int]
    method: Mapped[Method] = mapped_column(choice(Method, "method"))
    protocol: Mapped[str] = mapped_column(String(60))
    container_id: Mapped[int | None] = mapped_column(ForeignKey("containers.id"), index=True)
    container_name: Mapped[str] = mapped_column(String(120))
    nursery_name: Mapped[str] = mapped_column(String(120))
    seeds_per_cell: Mapped[int | None]
    cells: Mapped[int]
    trays: Mapped[int]
    cells_sown: Mapped[int]
    seeds: Mapped[int] = mapped_column(BigInteger)
    grams: Mapped[float | None]
    collect_by: Mapped[dt.date | None]
    pretreat_on: Mapped[dt.date]
    sow_on: Mapped[dt.date]
    ready_on: Mapped[dt.date]
    plant_on: Mapped[dt.date]
    expected: Mapped[float]
    p10: Mapped[int]
    p90: Mapped[int]
    probability: Mapped[float]
    #: Plants of ``plants_to_plant`` that seed in hand cannot give.
    shortfall: Mapped[int]
    seeds_missing: Mapped[int] = mapped_column(BigInteger)
    #: Phases as ``[{name, start, end, wait_days}]``.
    phases: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    #: Findings as ``[{code, values}]``; the sentence is made when shown, in the reader's language.
    problems: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    #: Rates and amounts behind the numbers, for the explanation on screen.
    basis: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: The mix of lots: shares by source, populations, effective mothers, largest family, and what it misses.
    mix: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    #: What holds a shortfall: codes with values, as in ``problems``.
    bottleneck: Mapped[list[dict[str, Any]] | None] = mapped_column(JSON(none_as_null=True))
    #: What batches already sown for the target give of it, batch by batch.
    growing: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))

    plan: Mapped[Plan] = relationship(back_populates="lines")
    need_parts: Mapped[list[NeedPart]] = relationship(back_populates="line", order_by="NeedPart.id")
    draws: Mapped[list[Draw]] = relationship(back_populates="line", order_by="Draw.id")


class Draw(Base):
    """Seed of one lot promised to one line."""

    __tablename__ = "draws"
    __table_args__ = (at_least("seeds", 1),)

    line_id: Mapped[int] = mapped_column(ForeignKey("plan_lines.id"), index=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lots.id"), index=True)
    lot_code: Mapped[str] = mapped_column(String(24))
    seeds: Mapped[int] = mapped_column(BigInteger)
    #: Empty for cuttings.
    milligrams: Mapped[int | None] = mapped_column(BigInteger)
    cells: Mapped[int]
    #: On the day of sowing, not of test.
    viability: Mapped[float]
    distance_m: Mapped[float]
    #: What the rules said of the lot at the site, by which version, and why; empty in plans made before the rules.
    verdict: Mapped[Verdict | None] = mapped_column(choice(Verdict, "draw_verdict"))
    source: Mapped[Source | None] = mapped_column(choice(Source, "draw_source"))
    reasons: Mapped[list[dict[str, Any]] | None] = mapped_column(JSON(none_as_null=True))
    rule_version_id: Mapped[int | None] = mapped_column(ForeignKey("rule_versions.id"), index=True)
    #: The pin or override that this draw follows.
    decision_id: Mapped[int | None] = mapped_column(ForeignKey("decisions.id"), index=True)

    line: Mapped[PlanLine] = relationship(back_populates="draws")
