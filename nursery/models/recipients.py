"""Who takes plants or seed over."""

from __future__ import annotations

from enum import StrEnum

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from nursery.models.base import Record
from nursery.models.types import choice


class RecipientKind(StrEnum):
    """What the law asks of a delivery hangs on who takes it."""

    #: Our own crews plant it: nothing is handed over.
    OWN = "own"
    #: Contractors, nurseries, partner bodies: they work with plants by trade or under a contract.
    PROFESSIONAL = "professional"
    #: People who plant for themselves and not by trade.
    FINAL_USER = "final-user"


class Recipient(Record):
    """A person or body that takes plants or seed over."""

    __tablename__ = "recipients"

    name: Mapped[str] = mapped_column(String(120), unique=True)
    kind: Mapped[RecipientKind] = mapped_column(choice(RecipientKind, "recipient_kind"))
    address: Mapped[str] = mapped_column(default="", server_default="")
    #: ISO 3166-1 alpha-2; empty takes the nursery's own.
    country: Mapped[str] = mapped_column(String(2), default="", server_default="")
    #: In the register of operators, as the authority writes it.
    operator_number: Mapped[str] = mapped_column(String(40), default="", server_default="")
    contact: Mapped[str] = mapped_column(String(200), default="", server_default="")
