"""The points of the hygiene list: what keeps *Phytophthora* and its like out of a nursery.

Sources, as far as they were read: Osterbauer, Lewis, Hedberg & McAninch 2013, J. Environ. Hort. 31(3):133–137
(abstract); Phytosphere Research, Best Management Practices for Producing Clean Nursery Stock, sections 3 and 6.5;
University of California, Davis, Clean Production Practices for restoration nurseries, section 6.1; Oregon State
University, Best Management Practices against P. ramorum in nurseries. Points without one are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

from babel.support import LazyProxy

from nursery.i18n import lazy as _l

_HAZARDS = "Osterbauer et al. 2013, J. Environ. Hort. 31(3):133–137"
_CLEAN_STOCK = "Phytosphere Research, Best Management Practices for Producing Clean Nursery Stock"
_DAVIS = "University of California, Davis, Clean Production Practices, 6.1"
_OREGON = "Oregon State University, Best Management Practices against P. ramorum in nurseries"
ANSWERS = {"yes": _l("Yes"), "no": _l("No"), "not-here": _l("Not here")}


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at; the answer “yes” is the good one."""

    key: str
    text: LazyProxy
    #: Where it was read; empty for common practice.
    source: str = ""


POINTS: tuple[Point, ...] = (
    Point("boots", _l("Boots are cleaned of soil and disinfected before anybody goes in."), _DAVIS),
    Point("clothes", _l("Work clothes are clean, and changed after field work or cleaning pots."), _DAVIS),
    Point("visitors", _l("Visitors are told the rules and kept out of clean areas."), _DAVIS),
    Point("tools", _l("Tools, benches and potting tables are cleaned and disinfected between lots.")),
    Point(
        "containers",
        _l("Containers are new, or cleaned and disinfected before they are filled."),
        f"{_CLEAN_STOCK}, 3.1",
    ),
    Point(
        "store",
        _l("Clean containers are kept off the ground, away from used ones."),
        f"{_CLEAN_STOCK}, 3.2–3.3",
    ),
    Point("substrate", _l("Substrate comes from a known source and is kept covered, off the soil."), _HAZARDS),
    Point("water", _l("Water from rivers and ponds is treated before plants are watered with it."), _HAZARDS),
    Point("hoses", _l("Hose ends and lances hang at least a metre off the ground."), f"{_CLEAN_STOCK}, 6.5.4"),
    Point("drainage", _l("No water stands under the benches or on the paths."), _HAZARDS),
    Point("ground", _l("Plants stand on benches or clean gravel, none on bare soil."), _HAZARDS),
    Point("incoming", _l("Stock from elsewhere is looked at and kept apart before it joins the rest."), _OREGON),
    Point("sick", _l("Sick plants and fallen leaves are taken out at once, in closed bags.")),
    Point("waste", _l("The waste heap lies away from plants, substrate and water."), _HAZARDS),
    Point("returns", _l("Plants that left the nursery do not come back in.")),
)
