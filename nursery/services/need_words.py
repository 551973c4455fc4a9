"""A collection need in words: from which source, where that is, and why."""

from __future__ import annotations

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import CollectionNeed
from nursery.planning.origin.words import NeedPurpose, NeedSource

SOURCE_LABELS = {
    NeedSource.REGION: _l("Own region"),
    NeedSource.LOCAL: _l("Local"),
    NeedSource.NEAR: _l("Near"),
    NeedSource.FAR: _l("Far"),
    NeedSource.CLIMATE: _l("Climate to come"),
}
PURPOSE_LABELS = {
    NeedPurpose.PLANTS: _l("For plants lacking"),
    NeedPurpose.SHARES: _l("For the shares only"),
}
#: What a source is, for whoever goes out to look for it.
SOURCE_NOTES = {
    NeedSource.LOCAL: _l("Local: of the region of provenance and of the basin of the sites it is for."),
    NeedSource.NEAR: _l("Near: of the region or of the basin of the sites it is for, but not of both."),
    NeedSource.FAR: _l("Far: of another region and of another basin than the sites it is for."),
    NeedSource.CLIMATE: _l(
        "Climate to come: not local, and nearer to the climate expected at the site than the site is today."
    ),
}


def origin_of(need: CollectionNeed) -> str:
    """Region and basin of the sites it is for, as far as they tell."""
    if need.source is NeedSource.REGION:
        return need.region_code or need.basin
    return ", ".join(filter(None, (need.region_code, need.basin)))


def other_populations(need: CollectionNeed) -> bool:
    """Whether it asks for other populations than those in hand, of the same region."""
    return need.source is NeedSource.REGION and need.purpose is NeedPurpose.SHARES


def origin_text(need: CollectionNeed) -> str:
    """The origin in a list: its source comes first where it is not the region as such."""
    place = origin_of(need)
    match need.source:
        case NeedSource.REGION if other_populations(need):
            return _("other populations of %(place)s", place=place)
        case NeedSource.REGION:
            return place
        case NeedSource.LOCAL:
            return _("local to %(place)s", place=place)
        case NeedSource.NEAR:
            return _("near %(place)s", place=place)
        case NeedSource.FAR:
            return _("far from %(place)s", place=place)
        case NeedSource.CLIMATE:
            return _("of the climate to come at %(place)s", place=place)


def where_text(need: CollectionNeed) -> str:
    """The same within a sentence, after a verb."""
    if other_populations(need):
        return _("from other populations in %(place)s", place=origin_of(need))
    if need.source is NeedSource.REGION:
        return _("in %(place)s", place=origin_of(need))
    return origin_text(need)
