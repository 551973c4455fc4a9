"""What was seen in the field when a lot was collected: plants, share of the crop, cut test, ripeness, habitat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.models.lots import Ripeness
from nursery.planning.collecting import MAX_SHARE
from nursery.services import checking, limits, records

RIPENESS_LABELS = {
    Ripeness.UNRIPE: _l("Not yet ripe"),
    Ripeness.RIPE: _l("Ripe"),
    Ripeness.SHEDDING: _l("Already falling"),
}
CUT_SEEDS = limits.Bounds(0, 10_000)
BOUNDS = {
    "plants_present": limits.Bounds(1, 10_000_000),
    "mother_plants": limits.MOTHER_PLANTS,
    "crop_share": limits.POSITIVE_FRACTION,
    "cut_sound": CUT_SEEDS,
    "cut_total": limits.Bounds(1, 10_000),
}
COLUMNS = (*BOUNDS, "ripeness", "habitat")
LABELS = {
    "plants_present": _l("Plants present"),
    "mother_plants": _l("Mother plants"),
    "crop_share": _l("Share of the ripe seed taken"),
    "cut_sound": _l("Cut test: sound seeds"),
    "cut_total": _l("Cut test: seeds cut"),
    "ripeness": _l("Ripeness"),
    "habitat": _l("Habitat"),
}
#: Both rules of the field: US Seeds of Success technical protocol §9.
SOURCE = "US Seeds of Success technical protocol §9"


@dataclass(frozen=True, slots=True)
class CutTest:
    """Sound seeds of those cut, with the Wilson interval of 95 %."""

    sound: int
    total: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Sound of all."""
        return self.sound / self.total


def record_field_facts(
    session: Session, actor: str, *, lot: Lot, values: Mapping[str, Any], version: int | None
) -> Lot:
    """Write down what was seen; ``values`` are columns of ``COLUMNS``, and those left out stay.

    Raises
    ------
    Invalid
        For what cannot be: more plants sampled than there were, more sound seeds than were cut.
    Conflict
        When somebody changed the lot since ``version``.
    """
    unknown = set(values) - set(COLUMNS)
    if unknown:
        raise ValueError(f"no field facts: {sorted(unknown)}")
    whole = {column: values.get(column, getattr(lot, column)) for column in COLUMNS}
    refused = {**checking.beyond(whole, BOUNDS), **_refuse_plants(whole), **_refuse_cut(whole)}
    if refused:
        raise Invalid(refused)
    return records.update(session, actor, lot, values, version=version)


def cut_test(lot: Lot) -> CutTest | None:
    """The lot's cut test; None where no seed was cut."""
    from nursery.planning.intervals import wilson_interval  # noqa: PLC0415 -- slow import

    if not lot.cut_total or lot.cut_sound is None:
        return None
    low, high = wilson_interval(lot.cut_sound, lot.cut_total)
    return CutTest(lot.cut_sound, lot.cut_total, float(low), float(high))


def crop_verdict(lot: Lot) -> tuple[str, str] | None:
    """Tone and sentence on the share of the crop; None where nobody estimated it."""
    if lot.crop_share is None:
        return None
    words = {"share": format_percent(lot.crop_share, 1), "most": format_percent(MAX_SHARE)}
    if lot.crop_share > MAX_SHARE:
        text = _(
            "%(share)s of the ripe seed was taken; more than %(most)s leaves the stand too little. Let it rest in"
            " the coming years, and tell the authority if the permit sets a share.",
            **words,
        )
        return "caution", text
    return "ok", _("%(share)s of the ripe seed was taken, at most %(most)s.", **words)


def sampled_text(lot: Lot) -> str:
    """Plants sampled of those present."""
    if lot.mother_plants is None:
        return "" if lot.plants_present is None else _("not counted")
    if lot.plants_present is None:
        return ngettext("%(num)s plant", "%(num)s plants", lot.mother_plants)
    return _(
        "%(sampled)s of %(present)s plants",
        sampled=format_number(lot.mother_plants),
        present=format_number(lot.plants_present),
    )


def _refuse_plants(values: Mapping[str, Any]) -> dict[str, str]:
    sampled, present = values["mother_plants"], values["plants_present"]
    if sampled is None or present is None or sampled <= present:
        return {}
    text = _(
        "%(sampled)s plants were sampled of only %(present)s present. Correct one of the two.",
        sampled=format_number(sampled),
        present=format_number(present),
    )
    return {"mother_plants": text}


def _refuse_cut(values: Mapping[str, Any]) -> dict[str, str]:
    sound, total = values["cut_sound"], values["cut_total"]
    if (sound is None) != (total is None):
        lacking = "cut_sound" if sound is None else "cut_total"
        return {lacking: _("Give both numbers of the cut test, or neither.")}
    if sound is None or total is None or sound <= total:
        return {}
    text = _(
        "%(sound)s sound seeds of %(total)s cut cannot be. Correct one of the two.",
        sound=format_number(sound),
        total=format_number(total),
    )
    return {"cut_sound": text}
