"""One good input for each calculator."""

from __future__ import annotations

from typing import Any

GOOD: dict[str, dict[str, Any]] = {
    "cell-fill": {"germination": 0.5, "seeds_per_cell": 5},
    "sowing": {
        "plants": 900, "method": "direct", "germination": 0.6, "emergence": 0.9, "establishment": 0.92,
        "hardening": 0.98, "cull": 0.1, "handling_loss": 0.05, "field_survival": 0.9, "seeds_per_cell": 2,
        "cells_per_tray": 60, "tsw_g": 3.6, "purity": 0.96, "spare_trays": 1,
    },
    "bed-sowing": {
        "density_per_m2": 150, "germination": 0.7, "purity": 0.9, "tsw_g": 5, "survival": 0.8, "area_m2": 20,
    },
    "seed-lot": {"purity": 0.9, "germination": 0.8, "tsw_g": 20},
    "seed-weight": {"replicates_g": [0.2224, 0.2134, 0.2130, 0.2116, 0.2145, 0.2071, 0.2116, 0.2125]},
    "germination-test": {"counts": [85, 90, 88, 81]},
    "moisture": {"empty_g": 5, "fresh_g": 10, "dry_g": 9.5},
    "storage": {
        "moisture_pct": 5, "temperature_c": 5, "days": 3650, "viability": 0.95, "ke": 6.975, "cw": 3.47,
    },
    "schedule": {
        "plant_on": "2027-11-15",
        "phases": [
            {"name": "cold", "days": 42},
            {"name": "emergence", "days": 20, "months": [2, 3]},
            {"name": "growing", "days": 150},
            {"name": "hardening", "days": 30},
        ],
    },
    "assurance": {
        "wanted": 1000, "assurance": 0.9, "stages": [{"mean": 0.7, "weight": 20}, {"mean": 0.9, "weight": 50}],
    },
    "mothers": {"weights": [1, 1, 2], "kind": "seed"},
    "distance": {"from": [37.1, -8.2], "to": [38.7, -9.1]},
    "collection": {
        "seeds": 10_000, "tsw_g": 75, "purity": 0.9, "extraction_yield": 0.2, "fruit_kg_per_mother": 3,
    },
    "inventory": {"sample_counts": [38, 40, 35, 31], "frame_size": 200},
    "survival": {"alive": 80, "planted": 100},
    "origin": {
        "lot": {"region_code": "AV-1", "basin": "Alva", "elevation_m": 500, "effective_mothers": 40},
        "site": {"region_code": "AV-1", "basin": "Alva", "elevation_m": 320},
    },
}  # fmt: skip
