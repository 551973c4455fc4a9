"""How near a source is to a site (`words.Source`), and whether it suits the climate expected there."""

from __future__ import annotations

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.origin.pairs import Pairs
from nursery.planning.origin.strategies import CLIMATE, FAR, LOCAL, NEAR, Strategies

#: A difference of one of these counts as one step between climates: kelvin of the mean, a share of the site's
#: present rain, kelvin of the coldest month's minimum. Own convention, no source; the limits of the default rules.
STEP = {"mean_annual_c": 1.5, "annual_rain_mm": 0.25, "coldest_month_min_c": 3.0}


def sources(pairs: Pairs, accepts: Strategies) -> Ints:
    """The source of each pair as a position in `strategies.SOURCES`.

    Local agrees with all that the site has written down of region and basin, near with one of two, far with none.
    A source that is not local counts as `CLIMATE` at sites whose strategy has a share of those, where it lies
    closer to the climate expected at the site than the site's present climate does.
    """
    asked = pairs.region.site_known.astype(np.int64) + pairs.basin.site_known
    agreed = pairs.region.same.astype(np.int64) + pairs.basin.same
    found = np.where(agreed == 0, FAR, np.where(agreed < asked, NEAR, LOCAL))
    wanted = (accepts.shares[:, CLIMATE] > 0)[pairs.site] & (found != LOCAL)
    if np.any(wanted):
        found = np.where(wanted & suits_expected(pairs), CLIMATE, found)
    return found


def suits_expected(pairs: Pairs) -> Bools:
    """Whether the lot's climate is nearer to the site's expected one than the site's present one is.

    Euclidean distance over the measures known of all three, each in steps of `STEP`; False where none is.
    """
    from_lot, from_site = np.zeros(len(pairs.lot)), np.zeros(len(pairs.lot))
    for name, step in STEP.items():
        present, expected = pairs.of_site(name), pairs.of_site(f"expected_{name}")
        steps = np.maximum(step * present, 1.0) if name == "annual_rain_mm" else np.full(present.shape, step)
        lot = _squared((pairs.of_lot(name) - expected) / steps)
        site = _squared((present - expected) / steps)
        known = ~np.isnan(lot + site)
        from_lot += np.where(known, lot, 0.0)
        from_site += np.where(known, site, 0.0)
    return from_lot < from_site


def _squared(values: Floats) -> Floats:
    return values * values
