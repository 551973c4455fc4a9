"""Which collected rows stand behind which kind of figure; the same for every species."""

from __future__ import annotations

from collections.abc import Iterable

from nursery.catalog import Evidence, Protocol, SpeciesEntry
from nursery.i18n import gettext as _

#: Names of evidence rows by figure. A name takes its ``_min``, ``_max`` and ``_mean`` rows with it.
_BEHIND: dict[str, tuple[str, ...]] = {
    "dioecious": ("dioecious",),
    "spiny": ("hazard_spiny",),
    "toxic": ("hazard_toxic", "hazard_note", "fruit_edible"),
    "seed.thousand_seed_weight_g": (
        "thousand_seed_weight",
        "seeds_per_kg",
        "viable_seeds_per_kg",
        "seed_mass_low_outlier",
        "fruit_or_stone_mass_suspect",
    ),
    "seed.purity": ("purity", "species_purity_min_EU", "soundness", "seed_fill_note"),
    "seed.extraction_yield": ("yield_seed_kg_per_100kg_fruit", "yield_seed_kg_per_100L_fruit", "seeds_per_fruit"),
    "seed.fruit_kg_per_mother": ("fruit_fresh_mass", "mast_interval", "min_seed_bearing_age"),
    "storage.class": ("seed_storage_behaviour", "seed_moisture_at_shedding", "critical_moisture"),
    "storage.seed_life_days": (
        "storage_life_demonstrated",
        "seed_longevity",
        "seed_longevity_unrefrigerated",
        "loss_between_autumn_collection_and_spring",
        "storage_temp_C",
        "storage_note",
        "drying_days_to_critical",
    ),
    "collecting.seed_months": ("collecting_months", "fruit_ripening", "seed_dispersal_weeks", "collecting_check"),
    "collecting.cuttings_months": ("cutting_season", "cutting_rule", "cuttings"),
}
_SEED_GERMINATION = (
    "germination_pct",
    "germination_temp_C",
    "germination_note",
    "light_requirement",
    "dormancy_class",
)
_ROOTING = ("rooting_pct", "cuttings", "cutting_length_cm", "cutting_rule")
_PHASES: dict[str, tuple[str, ...]] = {
    "soak": ("pretreat_soak_h",),
    "scarify": ("pretreat_scarification", "dormancy_class"),
    "heat": ("fire_cue", "pretreat_scarification"),
    "warm-stratify": ("pretreat_warm_weeks", "pretreat_warm_temp_C"),
    "cold-stratify": ("pretreat_cold_weeks", "pretreat_cold_temp_C", "dormancy_class"),
    "emergence": ("days_to_germinate", "germination_time_stored_seed"),
}


def evidence_behind(entry: SpeciesEntry, path: str) -> tuple[Evidence, ...]:
    """The rows that were collected for this kind of figure."""
    names = _names(entry, path)
    return tuple(row for row in entry.evidence if _stem(row.field) in names)


def evidence_label(row: Evidence) -> str:
    """The name of a row as words; the rows themselves are kept in the language of the catalogue."""
    stem, field = _stem(row.field), row.field
    words = stem.replace("_pct", " %").replace("_", " ")
    which = {"_min": _("lowest"), "_max": _("highest"), "_mean": _("mean")}.get(field.removeprefix(stem))
    return f"{words}, {which}" if which else words


def _names(entry: SpeciesEntry, path: str) -> Iterable[str]:
    if path in _BEHIND:
        return _BEHIND[path]
    if not path.startswith("protocols."):
        return ()
    _root, key, *rest = path.split(".")
    return _of_protocol(entry.protocol(key), rest)


def _of_protocol(protocol: Protocol, rest: list[str]) -> Iterable[str]:
    cuttings = protocol.part == "cuttings"
    if rest == ["sowing_months"]:
        return ("cutting_season",) if cuttings else ("sowing_season", "direct_sowing")
    if rest == ["container_volume_cm3"]:
        return ("stock_type", "eu_mediterranean_size_rule")
    if rest == ["rates", "germination", "mean"]:
        return _ROOTING if cuttings else _SEED_GERMINATION
    if rest == ["rates", "establishment", "mean"]:
        return ("seedling_survival_saturated",)
    return _PHASES.get(rest[1], ()) if rest[0] == "phases" and rest[2] in {"days", "temperature_c"} else ()


def _stem(field: str) -> str:
    for ending in ("_min", "_max", "_mean"):
        if field.endswith(ending):
            return field.removesuffix(ending)
    return field
