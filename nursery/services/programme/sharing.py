"""How an amount and its mothers are shared among populations."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from nursery.models.places import IndigenousStatus
from nursery.planning.rounding import whole
from nursery.services.needs import Sheet
from nursery.services.programme.picks import NeedPlan
from nursery.services.stands import Stand

if TYPE_CHECKING:
    from nursery.services.programme.allotting import Draft

_AT_HOME = (IndigenousStatus.AUTOCHTHONOUS, IndigenousStatus.INDIGENOUS)


def rank(stand: Stand, *, is_covered: bool) -> tuple[bool, bool, bool, float, str]:
    """The order in which populations are asked."""
    return not is_covered, stand.most is None, stand.status not in _AT_HOME, stand.distance_m, stand.code


def fewest(stands: Sequence[Stand], sheet: Sheet) -> list[Stand]:
    """The first ones that give the amount and the mothers together, and as many as the strategy asks for."""
    wanted, mothers, least, cap = sheet.wanted, sheet.need.mothers, sheet.spread.least, sheet.spread.cap
    chosen: list[Stand] = []
    amount, plants = 0.0, 0
    for stand in stands:
        if amount >= wanted and plants >= mothers and len(chosen) >= least:
            break
        chosen.append(stand)
        most = stand.most or 0.0
        amount += most if cap is None else min(most, cap * wanted)
        plants += stand.fruiting_plants or 0
    return chosen


def share(chosen: Sequence[Stand], sheet: Sheet) -> list[tuple[Stand, float, int]]:
    """Amount and mothers of each; a stand nobody has counted takes what the others cannot give."""
    counted = [stand for stand in chosen if stand.most]
    plants = sum(stand.fruiting_plants or 0 for stand in counted)
    asked = min(sheet.need.mothers, plants)
    found = []
    given = _fair(counted, sheet)
    for stand, fair in zip(counted, given, strict=True):
        amount = fair
        if sheet.is_cuttings:
            amount = float(whole(amount))
        share = (stand.fruiting_plants or 0) / plants
        found.append((stand, amount, min(stand.fruiting_plants or 0, int(whole(asked * share)))))
    uncounted = [stand for stand in chosen if stand.most is None]
    rest = max(0.0, sheet.wanted - sum(given))
    if uncounted:
        each = rest / len(uncounted)
        each = float(whole(each)) if sheet.is_cuttings else each
        left = max(0, sheet.need.mothers - plants)
        found += [(stand, each, int(whole(left / len(uncounted)))) for stand in uncounted if each > 0 or left > 0]
    return found


def _fair(stands: Sequence[Stand], sheet: Sheet) -> list[float]:
    """Amounts in proportion to what each may give, none above that or above the cap of the strategy."""
    wanted, cap = sheet.wanted, sheet.spread.cap
    room = [min(stand.most or 0.0, math.inf if cap is None else cap * wanted) for stand in stands]
    weight = [stand.most or 0.0 for stand in stands]
    given = [0.0] * len(stands)
    for _round in stands:
        open_to = [at for at in range(len(stands)) if given[at] < room[at]]
        left, every = wanted - sum(given), sum(weight[at] for at in open_to)
        if left <= 1e-9 * wanted or not every:
            break
        for at in open_to:
            given[at] = min(room[at], given[at] + left * weight[at] / every)
    return given


def share_mothers(drafts: Sequence[Draft], mothers: int) -> None:
    """Share mothers anew by amount, after some of it went elsewhere; none gives more than it has."""
    total = sum(draft.amount for draft in drafts)
    for draft in drafts:
        draft.mothers = int(whole(mothers * draft.amount / total))
        if draft.stand.fruiting_plants is not None:
            draft.mothers = min(draft.stand.fruiting_plants, draft.mothers)
    lacking = mothers - sum(draft.mothers for draft in drafts)
    for draft in drafts:
        spare = (draft.stand.fruiting_plants or 0) - draft.mothers
        more = max(0, min(spare, lacking))
        draft.mothers += more
        lacking -= more


def to_find(plan: NeedPlan) -> int:
    """How many more populations like the known ones the amount and the mothers ask for."""
    stands = list({pick.stand.population_id: pick.stand for pick in plan.picks}.values())
    if any(stand.most is None for stand in stands):
        return 0
    if not stands:
        return 1
    by_amount = plan.lacking / (sum(stand.most or 0.0 for stand in stands) / len(stands))
    known = sum(stand.fruiting_plants or 0 for stand in stands)
    short = max(0, plan.sheet.need.mothers - known)
    few = plan.sheet.spread.least - len(stands)
    return int(whole(max(by_amount, short * len(stands) / known if known else 0.0, few)))
