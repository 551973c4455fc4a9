"""The strategy of a site: one at a time; what it was before stays in the history."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Site, Strategy
from nursery.planning.origin.strategies import PRESETS
from nursery.planning.origin.words import Source, StrategyKind
from nursery.services import limits, records
from nursery.services.limits import Bounds
from nursery.services.origin.words import KIND_LABELS, SOURCE_LABELS

#: Sources a kind may share out; a kind without any has no shares.
SOURCES = {
    StrategyKind.STRICT: (Source.LOCAL,),
    StrategyKind.REGION: (),
    StrategyKind.ADMIXTURE: (),
    StrategyKind.COMPOSITE: (Source.LOCAL, Source.NEAR, Source.FAR),
    StrategyKind.CLIMATE: (Source.LOCAL, Source.NEAR, Source.FAR, Source.CLIMATE),
}
POPULATIONS = Bounds(1, 100)
MOTHERS = Bounds(1, 100_000)
_COLUMNS = ("kind", "shares", "tolerance", "least_populations", "population_cap", "family_cap", "least_mothers")


def find_strategy(session: Session, site_id: int) -> Strategy | None:
    """The strategy a site has now."""
    return session.scalar(select(Strategy).where(Strategy.site_id == site_id, Strategy.archived_at.is_(None)))


def every_strategy(session: Session, site_id: int) -> Sequence[Strategy]:
    """All strategies a site ever had, the newest first."""
    return session.scalars(select(Strategy).where(Strategy.site_id == site_id).order_by(Strategy.id.desc())).all()


def set_strategy(
    session: Session, actor: str, *, site: Site, values: Mapping[str, Any], version: int | None = None
) -> Strategy:
    """Give a site a strategy, or change the one it has.

    ``values`` are the columns of `Strategy`; those left out are the usual ones of the kind.

    Raises
    ------
    Invalid
        With a message for each field that contradicts another or itself.
    """
    usual = PRESETS[StrategyKind(values["kind"])]
    checked = {name: values.get(name, getattr(usual, name)) for name in _COLUMNS}
    checked["kind"] = usual.kind
    checked["shares"] = {str(source): share for source, share in dict(checked["shares"] or {}).items() if share}
    refused = refuse_strategy(checked)
    if refused:
        raise Invalid(refused)
    row = find_strategy(session, site.id)
    if row is None:
        return records.create(session, actor, Strategy, {"site_id": site.id, **checked})
    return records.update(session, actor, row, checked, version=version)


def drop_strategy(session: Session, actor: str, *, site: Site) -> None:
    """Let a site take its own region again, as one without a strategy does."""
    row = find_strategy(session, site.id)
    if row is not None:
        records.archive(session, actor, row)


def refuse_strategy(values: Mapping[str, Any]) -> dict[str, str]:
    """Messages by field; shares by ``shares``, or ``shares.SOURCE`` where one of them is wrong."""
    bounds = {"tolerance": Bounds(0, 0.5), "population_cap": limits.POSITIVE_FRACTION,
              "family_cap": limits.POSITIVE_FRACTION}  # fmt: skip
    found = {name: bound.share_refusal(values[name]) for name, bound in bounds.items() if values[name] is not None}
    found["least_populations"] = POPULATIONS.refusal(values["least_populations"])
    if values["least_mothers"] is not None:
        found["least_mothers"] = MOTHERS.refusal(values["least_mothers"])
    told = {name: message for name, message in found.items() if message}
    told |= _refuse_shares(values["kind"], values["shares"])
    cap, least = values["population_cap"], values["least_populations"]
    if "population_cap" not in told and "least_populations" not in told and cap and cap * least < 1 - 1e-9:
        told["least_populations"] = _(
            "At most %(cap)s of one population leaves %(missing)s of the plants to no population when there are"
            " only %(least)s. Ask for at least %(enough)s populations, or raise the cap to %(raised)s.",
            cap=format_percent(cap, 1), missing=format_percent(1 - cap * least, 1), least=format_number(least),
            enough=format_number(math.ceil(1 / cap - 1e-9)),
            raised=format_percent(math.ceil(1000 / least) / 1000, 1),
        )  # fmt: skip
    return told


def _refuse_shares(kind: StrategyKind, shares: Mapping[str, Any]) -> dict[str, str]:
    label, allowed = str(KIND_LABELS[kind]), SOURCES[kind]
    names = ", ".join(str(SOURCE_LABELS[source]) for source in allowed)
    told: dict[str, str] = {}
    for source, share in shares.items():
        if source not in set(Source):
            told[f"shares.{source}"] = _(
                "There is no source “%(source)s”. Sources are: %(names)s.",
                source=source, names=", ".join(str(label) for label in SOURCE_LABELS.values()),
            )  # fmt: skip
        elif source not in allowed and not allowed:
            told[f"shares.{source}"] = _(
                "“%(kind)s” has no shares: it takes the site's region as a whole. Leave the share of “%(source)s”"
                " empty, or choose another kind.",
                kind=label, source=str(SOURCE_LABELS[Source(source)]),
            )  # fmt: skip
        elif source not in allowed:
            told[f"shares.{source}"] = _(
                "“%(kind)s” has no share of “%(source)s”. Leave it empty; shares are of: %(names)s.",
                kind=label, source=str(SOURCE_LABELS[Source(source)]), names=names,
            )  # fmt: skip
        elif refusal := limits.FRACTION.share_refusal(share):
            told[f"shares.{source}"] = refusal
    total = math.fsum(shares.values()) if not told else 1.0
    if allowed and not told and not shares:
        told["shares"] = _("“%(kind)s” needs shares that sum to 100 %%, of: %(names)s.", kind=label, names=names)
    elif allowed and not told and abs(total - 1) > 1e-6:
        told["shares"] = ngettext(
            "The %(num)s share sums to %(total)s, not to 100 %%. Raise or lower it by %(missing)s.",
            "The %(num)s shares sum to %(total)s, not to 100 %%. Raise or lower them by %(missing)s.",
            len(shares), total=format_percent(total, 2), missing=format_percent(abs(total - 1), 2),
        )  # fmt: skip
    return told
