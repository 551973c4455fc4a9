"""How a site mixes its sources: one strategy a site, or one for a species there."""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Record
from nursery.models.places import Site
from nursery.models.types import at_least, choice, fraction
from nursery.planning.origin.words import StrategyKind


class Strategy(Record):
    """Shares by nearness of the source, and how even the mix must be; a site without one takes its own region."""

    __tablename__ = "strategies"
    __table_args__ = (
        fraction("tolerance"),
        at_least("least_populations", 1),
        fraction("population_cap", positive=True),
        fraction("family_cap", positive=True),
        CheckConstraint("least_mothers >= 1", name="least_mothers"),
        Index(
            "uq_strategies_site", "site_id", unique=True,
            sqlite_where=text("archived_at IS NULL"), postgresql_where=text("archived_at IS NULL"),
        ),
    )  # fmt: skip

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    kind: Mapped[StrategyKind] = mapped_column(choice(StrategyKind, "strategy_kind"))
    #: ``{source: share}``, shares 0–1 that sum to one; sources are those of ``planning.origin.words.Source``.
    shares: Mapped[dict[str, Any]] = mapped_column(JSON)
    #: By how much a share may miss, 0–1 of the site's plants of a species.
    tolerance: Mapped[float] = mapped_column(default=0.05)
    least_populations: Mapped[int] = mapped_column(default=1)
    #: Most that one population, and one mother's family, may be of the plants of a species.
    population_cap: Mapped[float | None]
    family_cap: Mapped[float | None]
    #: Effective mothers asked of the whole mix of a species.
    least_mothers: Mapped[float | None]

    site: Mapped[Site] = relationship()
