"""Setting a figure against the catalogue, and going back to the catalogue's."""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog, override_fault
from nursery.catalog.shape import fault, rule_of
from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.models import Override, Species
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.species.labels import figure_label, value_text
from nursery.services.species.reading import find_row

MOST_REASON = 500


def set_figure(session: Session, actor: str, *, key: str, figure: str, value: Any, reason: str) -> Override:
    """Replace one figure of a species for this nursery; raises Invalid (``value``, ``reason``) or NotFound."""
    species = find_row(session, key)
    value = sorted(value) if isinstance(value, list | tuple | set) else value
    _refuse(species, figure, value, reason)
    override = _own(session, species, figure)
    before = None if override is None else override.value
    reason = reason.strip()
    if override is None:
        override = Override(species_id=species.id, figure=figure)
        session.add(override)
    elif (before, override.reason) == (value, reason):
        return override
    override.value, override.reason, override.person, override.changed_at = value, reason, actor, utc_now()
    details = {figure: [before, value], "reason": [None, reason]}
    auditing.record(session, actor, action="changed", row=species, details=details)
    return override


def take_back_figure(session: Session, actor: str, *, key: str, figure: str) -> bool:
    """Let the catalogue's figure count again; False when it counted already."""
    species = find_row(session, key)
    override = _own(session, species, figure)
    if override is None:
        return False
    session.execute(delete(Override).where(Override.id == override.id))
    auditing.record(session, actor, action="changed", row=species, details={figure: [override.value, None]})
    return True


def _own(session: Session, species: Species, figure: str) -> Override | None:
    return session.scalar(
        select(Override).where(Override.species_id == species.id, Override.figure == figure)
    )  # fmt: skip


def _refuse(species: Species, path: str, value: Any, reason: str) -> None:
    shipped = load_catalog().species.get(species.key)
    rule = rule_of(path)
    if shipped is None or rule is None or path not in shipped.figure_table:
        raise NotFound(_("%(name)s has no figure “%(path)s”.", name=species.scientific_name, path=path))
    errors = {}
    if override_fault(shipped, path, value):
        shown = value_text(path, value, rule.unit) if isinstance(value, int | float | str) else str(value)
        errors["value"] = _(
            "“%(value)s” does not fit %(figure)s. %(remedy)s",
            value=shown,
            figure=figure_label(path),
            remedy=fault(rule, value),
        )
    if not reason.strip():
        errors["reason"] = _("Say why this nursery uses another figure, such as a count or a test of your own.")
    elif len(reason.strip()) > MOST_REASON:
        errors["reason"] = _(
            "The reason has %(long)s characters; at most %(most)s fit. Shorten it.",
            long=len(reason.strip()),
            most=MOST_REASON,
        )
    if errors:
        raise Invalid(errors)
