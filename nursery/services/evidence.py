"""Batches that a person writes down as evidence of a rate: successes among trials, taken back with a reason."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from babel.support import LazyProxy
from sqlalchemy.orm import Session

from nursery.errors import Invalid, NotFound
from nursery.i18n import format_date, format_number
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Evidence, Lot, Species
from nursery.models.types import utc_now
from nursery.services import auditing
from nursery.services.learned.batches import EXTRACTION
from nursery.services.species.reading import find_row

MOST_REASON, MOST_SOURCE = 500, 120
#: More than this of anything is a slip of the keys.
MOST_TRIALS = 10_000_000.0

#: By part and rate: what the rate is called, what counts as a success, and out of what.
KINDS: dict[tuple[str, str], tuple[LazyProxy, LazyProxy, LazyProxy]] = {
    ("seed", EXTRACTION): (_l("Clean seed from fruit"), _l("grams of clean seed"), _l("grams of fruit")),
    ("seed", "germination"): (_l("Germination"), _l("seeds germinated"), _l("pure seeds tested")),
    ("seed", "emergence"): (_l("Nursery emergence"), _l("seedlings come up"), _l("germinable seeds sown")),
    ("seed", "establishment"): (
        _l("Establishment"), _l("cells with an established plant"), _l("cells with a seedling"),
    ),
    ("seed", "hardening"): (_l("Hardening"), _l("plants alive after it"), _l("plants put out to harden")),
    ("seed", "cull"): (_l("Cull"), _l("plants culled"), _l("plants graded")),
    ("seed", "handling_loss"): (_l("Handling loss"), _l("plants lost on the way"), _l("plants sent out")),
    ("seed", "field_survival_1"): (
        _l("Survival in the field after one year"), _l("plants alive"), _l("plants planted"),
    ),
    ("seed", "field_survival_3"): (
        _l("Survival in the field after three years"), _l("plants alive"), _l("plants planted"),
    ),
}  # fmt: skip
KINDS |= {
    ("cuttings", "germination"): (_l("Rooting"), _l("cuttings rooted"), _l("cuttings set")),
    ("cuttings", "emergence"): (_l("Shooting"), _l("rooted cuttings that shot"), _l("cuttings rooted")),
    **{
        ("cuttings", rate): words
        for (part, rate), words in KINDS.items()
        if part == "seed" and rate not in {EXTRACTION, "germination", "emergence"}
    },
}


def kind_label(part: str, rate: str) -> str:
    """What the rate is called for that part."""
    words = KINDS.get((part, rate))
    if words is None:
        return rate
    return str(words[0]) if part == "seed" else _("%(rate)s (cuttings)", rate=words[0])


def record_evidence(
    session: Session, actor: str, *, species: str, values: Mapping[str, Any], today: dt.date
) -> Evidence:
    """Write down one batch; raises ``Invalid`` by field (rate, successes, trials, happened_on, source, lot_id).

    ``values`` holds ``part, rate, successes, trials, happened_on, source`` and, where known, ``lot_id``.
    """
    row = find_row(session, species)
    errors = _faults(session, row, values, today)
    if errors:
        raise Invalid(errors)
    evidence = Evidence(
        species_id=row.id,
        part=values["part"],
        rate=values["rate"],
        successes=float(values["successes"]),
        trials=float(values["trials"]),
        lot_id=values.get("lot_id"),
        happened_on=values["happened_on"],
        source=values["source"].strip(),
        person=actor,
    )
    session.add(evidence)
    auditing.record(session, actor, action="created", row=evidence)
    session.flush()
    return evidence


def withdraw_evidence(session: Session, actor: str, *, species: str, evidence_id: int, reason: str) -> Evidence:
    """Let a batch count no longer; the row stays, with the reason. Raises ``Invalid`` (reason) or ``NotFound``."""
    row, evidence = find_row(session, species), session.get(Evidence, evidence_id)
    if evidence is None or evidence.species_id != row.id:
        raise NotFound(_("%(species)s has no such batch.", species=row.scientific_name))
    reason = reason.strip()
    if not reason:
        raise Invalid({"reason": _("Say why the batch should not count, such as a slip when it was typed.")})
    if len(reason) > MOST_REASON:
        text = _("The reason has %(long)s characters; at most %(most)s fit. Shorten it.")
        raise Invalid({"reason": text % {"long": len(reason), "most": MOST_REASON}})
    if evidence.withdrawn_at is None:
        evidence.withdrawn_at, evidence.withdrawn_by, evidence.withdrawn_reason = utc_now(), actor, reason
        auditing.record(session, actor, action="withdrawn", row=evidence)
        session.flush()
    return evidence


def _faults(session: Session, species: Species, values: Mapping[str, Any], today: dt.date) -> dict[str, str]:
    errors: dict[str, str] = {}
    part, rate = values.get("part"), values.get("rate")
    if (part, rate) not in KINDS:
        errors["rate"] = _("Choose the rate that was seen.")
    errors |= _wrong_counts(values.get("successes"), values.get("trials"), whole=rate != EXTRACTION)
    day = values.get("happened_on")
    if day is None:
        errors["happened_on"] = _("Give the day on which it was counted.")
    elif day > today:
        text = _("%(day)s is still to come. Give the day on which it was counted.", day=format_date(day))
        errors["happened_on"] = text
    source = (values.get("source") or "").strip()
    if not source:
        errors["source"] = _("Say what was counted where, such as “tray count, Azenha nursery”.")
    elif len(source) > MOST_SOURCE:
        text = _("This has %(long)s characters; at most %(most)s fit. Shorten it.")
        errors["source"] = text % {"long": len(source), "most": MOST_SOURCE}
    if values.get("lot_id") is not None:
        errors |= _wrong_lot(session.get(Lot, values["lot_id"]), species, str(part))
    return errors


def _wrong_counts(successes: Any, trials: Any, *, whole: bool) -> dict[str, str]:
    errors: dict[str, str] = {}
    for name, value in (("successes", successes), ("trials", trials)):
        if not isinstance(value, int | float) or isinstance(value, bool) or not 0 <= value <= MOST_TRIALS:
            errors[name] = _("Write a number from 0 to %(most)s.", most=format_number(MOST_TRIALS))
        elif whole and value != int(value):
            shown = format_number(value, 6)
            errors[name] = _("%(value)s is not a whole number. Leave the decimals out.", value=shown)
    if errors:
        return errors
    if trials <= 0:
        return {"trials": _("Of nothing nothing can be learned. Give how many there were in all.")}
    if successes > trials:
        text = _("%(successes)s of %(trials)s cannot be. Give the part first, then the whole.")
        return {"successes": text % {"successes": format_number(successes, 3), "trials": format_number(trials, 3)}}
    return {}


def _wrong_lot(lot: Lot | None, species: Species, part: str) -> dict[str, str]:
    if lot is None:
        return {"lot_id": _("There is no such lot.")}
    if lot.species_id != species.id:
        text = _("Lot %(lot)s is of another species than %(species)s.")
        return {"lot_id": text % {"lot": lot.code, "species": species.scientific_name}}
    if lot.material != part:
        return {"lot_id": _("Lot %(lot)s is of another material than the rate speaks of.", lot=lot.code)}
    return {}
