"""Who may sign in, as what, and by which token; only hashes of tokens are kept."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from nursery.models.base import Base, Record
from nursery.models.types import UtcDateTime, choice, utc_now


class Role(StrEnum):
    """What somebody does here; an account may have several roles."""

    COORDINATOR = "coordinator"
    SEED_KEEPER = "seed-keeper"
    GROWER = "grower"
    COLLECTOR = "collector"
    VIEWER = "viewer"
    ADMINISTRATOR = "administrator"


class LinkPurpose(StrEnum):
    """What a one-time link is good for."""

    INVITATION = "invitation"
    NEW_PASSWORD = "new-password"  # noqa: S105 -- a word, no password


class Scope(StrEnum):
    """What the bearer of a token may do, within the account's own rights."""

    READ = "read"
    WRITE = "write"


class Account(Record):
    """Somebody who may sign in. An archived account is closed; its name stays in the histories."""

    __tablename__ = "accounts"
    __table_args__ = (CheckConstraint("email = lower(email)", name="email"),)

    #: The name that histories give.
    name: Mapped[str] = mapped_column(String(80), unique=True)
    email: Mapped[str] = mapped_column(String(254), unique=True)
    #: Argon2id; empty until the invitation is taken up.
    password_hash: Mapped[str] = mapped_column(String(255), default="", server_default="")
    #: The only nursery whose records this account may change; empty means all.
    nursery_id: Mapped[int | None] = mapped_column(ForeignKey("nurseries.id"), index=True)
    #: Secret of the second factor in base32; empty while there is none.
    totp_secret: Mapped[str] = mapped_column(String(64), default="", server_default="")
    #: The last 30-second step whose code was taken, so that none is taken twice.
    totp_step: Mapped[int] = mapped_column(default=0, server_default="0")

    roles: Mapped[list[AccountRole]] = relationship(
        order_by="AccountRole.role", cascade="all, delete-orphan", lazy="selectin"
    )


class AccountRole(Base):
    """One role of one account."""

    __tablename__ = "account_roles"
    __table_args__ = (Index("uq_account_roles_account_id_role", "account_id", "role", unique=True),)

    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"))
    role: Mapped[Role] = mapped_column(choice(Role, "account_role"))


class SignIn(Base):
    """A browser in which somebody signed in."""

    __tablename__ = "sign_ins"

    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    began_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Last use, to within a few minutes.
    seen_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    ends_at: Mapped[dt.datetime] = mapped_column(UtcDateTime)
    ended_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)
    #: What the browser says it is.
    device: Mapped[str] = mapped_column(String(200), default="", server_default="")


class OneTimeLink(Base):
    """An invitation, or the way to a new password; good once."""

    __tablename__ = "one_time_links"

    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    purpose: Mapped[LinkPurpose] = mapped_column(choice(LinkPurpose, "link_purpose"))
    ends_at: Mapped[dt.datetime] = mapped_column(UtcDateTime)
    used_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)


class ApiToken(Base):
    """What a program signs in with: rights of its account, cut to a scope, until a day."""

    __tablename__ = "api_tokens"

    account_id: Mapped[int] = mapped_column(ForeignKey("accounts.id"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    scope: Mapped[Scope] = mapped_column(choice(Scope, "token_scope"))
    made_at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    #: Last day on which it is good.
    ends_on: Mapped[dt.date]
    ended_at: Mapped[dt.datetime | None] = mapped_column(UtcDateTime)


class FailedSignIn(Base):
    """A wrong password or code, kept for a day to slow guessing down."""

    __tablename__ = "failed_sign_ins"
    __table_args__ = (
        Index("ix_failed_sign_ins_email_at", "email", "at"),
        Index("ix_failed_sign_ins_address_at", "address", "at"),
    )

    at: Mapped[dt.datetime] = mapped_column(UtcDateTime, default=utc_now)
    email: Mapped[str] = mapped_column(String(254))
    address: Mapped[str] = mapped_column(String(45))
