"""The nursery's own defaults: one row."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Base
from nursery.models.types import at_least


class Preferences(Base):
    """Assurance, spare trays and the costs by which seeds per cell are chosen."""

    __tablename__ = "preferences"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("assurance > 0 AND assurance < 1", name="assurance"),
        at_least("spare_trays", 0),
        at_least("cost_seed", 0),
        at_least("cost_thin", 0),
        at_least("cost_cell", 0),
        at_least("wage_per_hour", 0),
        at_least("volunteer_per_hour", 0),
        at_least("overhead", 0),
        at_least("records_years", 3),
    )

    id: Mapped[int] = mapped_column(primary_key=True, default=1, sort_order=-1)
    organisation: Mapped[str] = mapped_column(String(120), default="", server_default="")
    assurance: Mapped[float] = mapped_column(default=0.8)
    spare_trays: Mapped[int] = mapped_column(default=0)
    #: Money of one's own currency: a viable seed, thinning one seedling, a cell sown (tray, substrate, bench).
    cost_seed: Mapped[float] = mapped_column(default=0.02)
    cost_thin: Mapped[float] = mapped_column(default=0.02)
    cost_cell: Mapped[float] = mapped_column(default=0.15)
    #: Three letters of ISO 4217.
    currency: Mapped[str] = mapped_column(String(3), default="EUR", server_default="EUR")
    #: Of paid people without a wage of their own, and the value that funders let an hour given count.
    wage_per_hour: Mapped[float] = mapped_column(default=14.0, server_default="14")
    volunteer_per_hour: Mapped[float] = mapped_column(default=0.0, server_default="0")
    #: Rent, water, power and office, as a share of all other costs.
    overhead: Mapped[float] = mapped_column(default=0.15, server_default="0.15")
    #: Who is told of a suspected notifiable organism: name, telephone, address.
    health_contact: Mapped[str] = mapped_column(String(200), default="", server_default="")
    #: As the papers print the supplier: address, country (ISO 3166-1 alpha-2) and numbers in the registers.
    address: Mapped[str] = mapped_column(default="", server_default="")
    country: Mapped[str] = mapped_column(String(2), default="", server_default="")
    supplier_number: Mapped[str] = mapped_column(String(40), default="", server_default="")
    operator_number: Mapped[str] = mapped_column(String(40), default="", server_default="")
    #: Years for which papers are kept; plant passports ask for three at least (Regulation (EU) 2016/2031 art. 69,
    #: the number from memory).
    records_years: Mapped[int] = mapped_column(default=10, server_default="10")
    #: The organisation's own words and colour in its reports.
    report_opening: Mapped[str] = mapped_column(default="", server_default="")
    report_closing: Mapped[str] = mapped_column(default="", server_default="")
    #: ``#rrggbb``; empty takes the product's own.
    report_colour: Mapped[str] = mapped_column(String(7), default="", server_default="")
    #: Private address of the calendar feed of all tasks.
    feed_token: Mapped[str | None] = mapped_column(String(64))
