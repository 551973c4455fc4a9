"""How the sharing out of a plan's lots went, in one sentence each."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.i18n import format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.models import Plan

#: A gap at which the answer counts as the best: `nursery.planning.allocation.allocate.GAP`.
PROVED = 1e-4


def tell_allocation(plan: Plan) -> Sequence[str]:
    """How many pairs in how many parts, the time it took, and how good the answer is; nothing for older plans."""
    went = plan.allocation
    if not went:
        return []
    size = ngettext(
        "%(num)s pair of lot and line that may meet was shared out in one go, in %(parts)s parts that do not touch"
        " each other.",
        "%(num)s pairs of lot and line that may meet were shared out in one go, in %(parts)s parts that do not"
        " touch each other.",
        went["pairs"], parts=format_number(went["parts"]),
    )  # fmt: skip
    time = _("It took %(seconds)s s.", seconds=format_number(went["seconds"], 1))
    if went["gap"] is None:
        good = _("Time ran out before every part was looked through: a better sharing may exist.")
    elif went["gap"] <= PROVED:
        good = _("It is proved that no better sharing exists.")
    else:
        good = _(
            "It is the best found in the time given, at most %(gap)s from the best there is.",
            gap=format_percent(went["gap"], 2),
        )
    return [size, time, good]
