"""Sets of rules and their versions: a change of the rules is a new version from a day on."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date
from nursery.i18n import gettext as _
from nursery.models import RuleSet, RuleVersion, Site
from nursery.planning.origin.defaults import DEFAULT_RULES
from nursery.services import auditing, records
from nursery.services.origin.checks import refuse_rules

#: The default rules hold for every plan ever made.
FIRST_DAY = dt.date(2000, 1, 1)


def default_rules() -> dict[str, Any]:
    """The rules a nursery starts with, to be changed freely."""
    return copy.deepcopy({name: dict(terms) for name, terms in DEFAULT_RULES.items()})


def ensure_default(session: Session, actor: str) -> RuleSet:
    """The set of every site that names none, made where there is none yet."""
    found = session.scalar(select(RuleSet).where(RuleSet.is_default))
    if found is not None:
        return found
    name = _("General rules")
    taken = set(session.scalars(select(RuleSet.name)))
    while name in taken:
        name += " *"
    made = records.create(session, actor, RuleSet, {"name": name, "is_default": True})
    _add(session, actor, made, FIRST_DAY, default_rules(), _("The rules a nursery starts with."))
    return made


def list_sets(session: Session) -> Sequence[RuleSet]:
    """Sets in use with their versions, the default first."""
    return session.scalars(
        select(RuleSet)
        .where(RuleSet.archived_at.is_(None))
        .options(selectinload(RuleSet.versions))
        .order_by(RuleSet.is_default.desc(), RuleSet.name)
    ).all()


def count_sites(session: Session) -> dict[int | None, int]:
    """Sites in use by the set they name; None for those that follow the default."""
    rows = session.execute(
        select(Site.rule_set_id, func.count()).where(Site.archived_at.is_(None)).group_by(Site.rule_set_id)
    )
    return {rule_set_id: number for rule_set_id, number in rows}  # noqa: C416 -- rows are no tuples


def get_version(session: Session, version_id: int) -> RuleVersion:
    """A version, or NotFound."""
    found = session.get(RuleVersion, version_id, options=[selectinload(RuleVersion.rule_set)])
    if found is None:
        raise NotFound(_("There is no such version of the rules."))
    return found


def create_set(
    session: Session, actor: str, *, name: str, valid_from: dt.date, rules: Mapping[str, Any], reason: str,
    notes: str = "",
) -> RuleSet:  # fmt: skip
    """A further set, for the sites that name it, with its first version."""
    if not name.strip():
        raise Invalid({"name": _("The set has no name. Write one by which people tell it from the others.")})
    _refuse(rules, reason)
    made = records.create(session, actor, RuleSet, {"name": name.strip(), "notes": notes})
    _add(session, actor, made, valid_from, rules, reason)
    return made


def add_version(
    session: Session, actor: str, *, rule_set: RuleSet, valid_from: dt.date, rules: Mapping[str, Any], reason: str
) -> RuleVersion:
    """What the set says from a day on, after all days on which it was changed before.

    Raises
    ------
    Invalid
        Keys are ``valid_from``, ``reason``, and ``rule.field`` for what contradicts itself.
    """
    newest = max((version.valid_from for version in rule_set.versions), default=None)
    if newest is not None and valid_from <= newest:
        raise Invalid(
            {
                "valid_from": _(
                    "%(day)s is not after %(newest)s, from which the newest version of “%(name)s” holds. What held"
                    " stays readable: give a later day.",
                    day=format_date(valid_from), newest=format_date(newest), name=rule_set.name,
                )
            }
        )  # fmt: skip
    _refuse(rules, reason)
    return _add(session, actor, rule_set, valid_from, rules, reason)


def archive_set(session: Session, actor: str, *, rule_set: RuleSet) -> RuleSet:
    """Put a set aside that no site follows."""
    if rule_set.is_default:
        raise Invalid(
            {"name": _("“%(name)s” is the set of all sites that name none. It stays.", name=rule_set.name)}
        )
    followers = session.scalars(
        select(Site.code).where(Site.rule_set_id == rule_set.id, Site.archived_at.is_(None)).limit(5)
    ).all()
    if followers:
        raise Invalid(
            {
                "name": _(
                    "“%(name)s” is followed by %(sites)s. Let them follow another set first.",
                    name=rule_set.name, sites=", ".join(followers),
                )
            }
        )  # fmt: skip
    return records.archive(session, actor, rule_set)


def follow_set(
    session: Session, actor: str, *, site: Site, rule_set_id: int | None, version: int | None = None
) -> Site:
    """Let a site follow a set of its own, or the default."""
    if rule_set_id is not None:
        rule_set = session.get(RuleSet, rule_set_id)
        if rule_set is None or rule_set.archived_at is not None:
            raise Invalid({"rule_set_id": _("This set is no longer in use. Choose another.")})
        if rule_set.is_default:
            rule_set_id = None
    return records.update(session, actor, site, {"rule_set_id": rule_set_id}, version=version)


def changed_rules(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[tuple[str, str, Any, Any]]:
    """What differs between two versions: rule, field, before, after."""
    return [
        (rule, field, before.get(rule, {}).get(field), after.get(rule, {}).get(field))
        for rule in dict.fromkeys((*before, *after))
        for field in dict.fromkeys((*before.get(rule, {}), *after.get(rule, {})))
        if before.get(rule, {}).get(field) != after.get(rule, {}).get(field)
    ]


def _refuse(rules: Mapping[str, Any], reason: str) -> None:
    refused = refuse_rules(rules)
    if not reason.strip():
        refused["reason"] = _("Write why the rules change; plans of this day on are explained by it.")
    if refused:
        raise Invalid(refused)


def _add(
    session: Session, actor: str, rule_set: RuleSet, valid_from: dt.date, rules: Mapping[str, Any], reason: str
) -> RuleVersion:
    made = RuleVersion(
        rule_set_id=rule_set.id, valid_from=valid_from, rules=copy.deepcopy(dict(rules)), reason=reason.strip(),
        person=actor,
    )  # fmt: skip
    session.add(made)
    session.flush()
    session.refresh(rule_set, ["versions"])
    details = {"valid_from": [None, valid_from.isoformat()], "reason": [None, reason.strip()]}
    auditing.record(session, actor, action="new version", row=rule_set, details=details)
    return made
