"""What a target means in plants, said in a sentence."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Target
from nursery.models.targets import TargetBasis
from nursery.planning.rounding import whole

#: Shares that sum to a little more than the whole by rounding are no mistake.
MIX_TOLERANCE = 1e-6


@dataclass(frozen=True)
class Wanted:
    """Whole plants (or survivors), and the sentence that shows how they come about."""

    plants: int
    sentence: str


def wanted_of(values: Mapping[str, Any], area_ha: float | None) -> Wanted | None:
    """What the values of a target want; None while a part is missing."""
    basis = values.get("basis")
    if basis == TargetBasis.DENSITY:
        return _by_density(values.get("density_per_ha"), area_ha, values.get("share"))
    plants, year = values.get("plants"), values.get("survival_year")
    if plants is None:
        return None
    if basis == TargetBasis.SURVIVORS:
        return None if year is None else Wanted(plants, _survivors(plants, year))
    return Wanted(plants, ngettext("%(num)s plant to plant.", "%(num)s plants to plant.", plants))


def _by_density(density: float | None, area_ha: float | None, share: float | None) -> Wanted | None:
    if density is None or area_ha is None or share is None or not math.isfinite(density * area_ha * share):
        return None
    plants = int(whole(density * area_ha * share))
    return Wanted(
        plants,
        _(
            "%(density)s plants per hectare × %(area)s ha × %(share)s = %(plants)s plants to plant.",
            density=format_number(density, 2),
            area=format_number(area_ha, 4),
            share=format_percent(share, 2),
            plants=format_number(plants),
        ),
    )


def _survivors(plants: int, year: int) -> str:
    alive = ngettext(
        "%(num)s plant alive one year after planting.", "%(num)s plants alive one year after planting.", plants
    )
    if year != 1:
        alive = ngettext(
            "%(num)s plant alive three years after planting.",
            "%(num)s plants alive three years after planting.",
            plants,
        )
    return " ".join([alive, _("The plan adds as many as are likely to die until then.")])


def mix_of_site(session: Session, site_id: int) -> dict[int, float]:
    """Sum of the shares of a site's active density targets, by season."""
    rows = session.execute(
        select(Target.season, func.sum(Target.share))
        .where(Target.site_id == site_id, Target.basis == TargetBasis.DENSITY, Target.archived_at.is_(None))
        .group_by(Target.season)
        .order_by(Target.season)
    )
    return {season: float(total or 0) for season, total in rows}
