"""In which order people meet the calculators, and how long forms are parted."""

from __future__ import annotations

from babel.support import LazyProxy

from nursery.i18n import lazy as _l

#: Parts of the list, along the way of a plant.
JOURNEY: tuple[tuple[LazyProxy, tuple[str, ...]], ...] = (
    (_l("Seed and lots"), ("seed-lot", "seed-weight", "germination-test", "moisture", "storage")),
    (_l("Collecting"), ("collection",)),
    (_l("Sowing"), ("sowing", "cell-fill", "bed-sowing")),
    (_l("Dates"), ("schedule",)),
    (_l("Assurance and counts"), ("assurance", "inventory", "survival")),
    (_l("Genetics and distance"), ("mothers", "distance", "origin")),
)

#: Parts of a form, by calculator; a form that is not named here has one part.
PARTS: dict[str, tuple[tuple[LazyProxy, tuple[str, ...]], ...]] = {
    "sowing": (
        (
            _l("What is wanted, and how it is sown"),
            ("plants", "method", "seeds_per_cell", "cells_per_tray", "spare_trays"),
        ),
        (_l("The seed"), ("germination", "tsw_g", "purity")),
        (
            _l("What is lost on the way"),
            ("emergence", "establishment", "hardening", "cull", "handling_loss", "field_survival"),
        ),
        (_l("Costs, to choose the seeds per cell"), ("cost_seed", "cost_thin", "cost_cell")),
    ),
    "storage": (
        (_l("The seed and its store"), ("moisture_pct", "temperature_c", "days", "viability")),
        (_l("Constants of the species"), ("ke", "cw", "ch", "cq")),
    ),
}
