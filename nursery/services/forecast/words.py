"""How a target stands, since when, and what can be done, in words."""

from __future__ import annotations

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.services.batches.words import STAGE_LABELS
from nursery.services.forecast.promises import Standing, TargetForecast
from nursery.services.forecast.story import Point

#: A word and a tone for each standing.
STANDINGS = {
    Standing.SHORT: (_l("Falls short"), "stop"),
    Standing.DOUBTFUL: (_l("May fall short"), "caution"),
    Standing.ENOUGH: (_l("Enough"), "ok"),
    Standing.SPARE: (_l("Can spare some"), "info"),
    Standing.OVER: (_l("Planting time over"), "waiting"),
}


def tell(target: TargetForecast) -> str:
    """How the target stands, in one or two sentences."""
    now, promised = target.now, format_number(target.promised)
    if target.standing is Standing.SHORT:
        return _(
            "%(promised)s ready plants are promised; in nine of ten cases there will be %(most)s at most.",
            promised=promised, most=format_number(now.p90),
        )  # fmt: skip
    if target.standing is Standing.DOUBTFUL:
        return _(
            "%(promised)s ready plants are promised. The chance that they come is %(chance)s; %(asked)s was asked"
            " for, and with that %(secured)s can be counted on.",
            promised=promised, chance=format_percent(now.chance), asked=format_percent(target.assurance),
            secured=format_number(now.secured),
        )  # fmt: skip
    if target.standing is Standing.SPARE:
        return _(
            "%(promised)s ready plants are promised, and %(spare)s more can be counted on.",
            promised=promised, spare=format_number(target.spare),
        )  # fmt: skip
    if target.standing is Standing.OVER:
        return _(
            "Its planting time ended on %(day)s. %(promised)s ready plants were promised, and %(sent)s were sent"
            " out. What is still wanted belongs in a target of a coming season.",
            day=format_date(target.closes_on), promised=promised, sent=format_number(target.dispatched),
        )  # fmt: skip
    return _("%(promised)s ready plants are promised, and they can be counted on.", promised=promised)


def since(target: TargetForecast) -> str:
    """What showed the shortage first; empty where there is none."""
    if target.shown_by is None:
        return ""
    shown = _shown(target.shown_by)
    if target.doubted_by is None:
        return shown
    return _("%(shown)s Doubtful since %(day)s.", shown=shown, day=format_date(target.doubted_by.day))


def _shown(point: Point) -> str:
    if point.kind == "sown":
        return _("Known since the sowing on %(day)s.", day=format_date(point.day))
    if point.kind == "today":
        return _("No count shows it yet: plants were lost or moved since.")
    return _("Shown first by the count of %(batch)s on %(day)s.", batch=point.code, day=format_date(point.day))


def event(point: Point) -> str:
    """What was known then."""
    if point.kind == "sown":
        return _("Sown")
    if point.kind == "today":
        return _("Today")
    counted = ngettext("%(num)s plant", "%(num)s plants", point.counted or 0)
    stage = STAGE_LABELS[point.stage] if point.stage else ""
    return _("%(batch)s counted: %(stage)s, %(plants)s", batch=point.code, stage=stage, plants=counted)
