"""What the map says, in words."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.zones import ZoneKind
from nursery.services.zones.placing import Placement, Standing

KIND_LABELS = {ZoneKind.REGION: _l("Region of provenance"), ZoneKind.BASIN: _l("River basin")}

_TONES = {
    Standing.VERIFIED: "ok",
    Standing.DIFFERS: "caution",
    Standing.OFFERED: "info",
    Standing.UNVERIFIED: "waiting",
    Standing.NOTHING: "waiting",
}


def tone(placement: Placement) -> str:
    """The tone in which a placement is told."""
    return _TONES[placement.standing]


def said(placement: Placement) -> str:
    """A placement as a sentence or two."""
    sentences = [_standing(placement)]
    edges = [zone.code for zone in placement.zones if zone.on_edge]
    if edges:
        sentences.append(
            _("The point lies on the boundary of %(codes)s, which belongs to it.", codes=_listed(edges))
        )
    undecided = [zone.code for zone in placement.zones if zone.undecided]
    if undecided:
        sentences.append(
            _(
                "It lies within the outline of %(codes)s, which has altitude limits. Write the elevation down.",
                codes=_listed(undecided),
            )
        )
    return " ".join(sentences)


def _standing(placement: Placement) -> str:
    others = [code for code in placement.codes if code != placement.recorded]
    match placement.standing:
        case Standing.VERIFIED:
            if others:
                return _(
                    "Verified on the map. The point lies in %(codes)s too: the zones overlap here.",
                    codes=_listed(others),
                )
            return _("Verified on the map.")
        case Standing.DIFFERS:
            return _(
                "The map says %(map)s, the record says %(record)s.",
                map=_either(placement.codes),
                record=placement.recorded,
            )
        case Standing.OFFERED:
            return _("The map says %(map)s; the record says nothing.", map=_either(placement.codes))
        case Standing.UNVERIFIED:
            return _("Not verified on a map.") + " " + _why_not(placement)
    return _("Nothing is on record.") + " " + _why_not(placement)


def _why_not(placement: Placement) -> str:
    if placement.is_mapped:
        return _("No zone on the map covers this point.")
    if placement.kind is ZoneKind.REGION:
        return _("No regions of provenance are on the map yet.")
    return _("No river basins are on the map yet.")


def _listed(codes: list[str]) -> str:
    return ", ".join(dict.fromkeys(codes))


def _either(codes: tuple[str, ...]) -> str:
    return codes[0] if len(codes) == 1 else _("%(codes)s or %(last)s", codes=", ".join(codes[:-1]), last=codes[-1])
