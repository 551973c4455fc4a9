"""From a file's table to a species record: first all figures by path, then the record made of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from nursery.catalog.entries import Collecting, Phase, Protocol, Rate, Seed, SpeciesEntry, Storage
from nursery.catalog.figures import Figure, FigureValue
from nursery.catalog.shape import RULES, rule_of

PLAIN_SECTIONS = ("seed", "storage", "collecting")
PHASE_FIGURES = ("days", "degree_days", "base_c", "temperature_c")

#: Constants of the viability equation: no species of the catalogue has them, but a nursery may know its own.
UNKNOWN_AT_FIRST = ("ke", "cw")

Figures = Mapping[str, Figure]


def collect_figures(record: Mapping[str, Any]) -> dict[str, Figure]:
    """Every figure of a file's table, keyed by its dotted path."""
    return {figure.path: figure for figure in _figures(record)}


def _figures(record: Mapping[str, Any]) -> Iterator[Figure]:
    for name in ("dioecious", "spiny", "toxic"):
        yield _figure(name, record[name])
    for section in PLAIN_SECTIONS:
        for name, table in record[section].items():
            if f"{section}.{name}" in RULES:
                yield _figure(f"{section}.{name}", table)
    for name in UNKNOWN_AT_FIRST:
        if name not in record["storage"]:
            yield Figure(f"storage.{name}", 0.0, "", None, None, "unknown", (), "")
    for protocol in record["protocols"]:
        yield from _protocol_figures(f"protocols.{protocol['key']}", protocol)


def _protocol_figures(at: str, protocol: Mapping[str, Any]) -> Iterator[Figure]:
    for name in ("container_volume_cm3", "seeds_per_cell", "sowing_months"):
        if name in protocol:
            yield _figure(f"{at}.{name}", protocol[name])
    for phase in [*protocol.get("pretreatment", ()), *protocol["nursery"]]:
        for name in PHASE_FIGURES:
            if name in phase:
                # The range of a phase is that of its length, not of its temperature.
                bounded = phase if name in {"days", "degree_days"} else {**phase, "low": None, "high": None}
                yield _figure(f"{at}.phases.{phase['key']}.{name}", bounded, phase[name])
    for rate, table in protocol["rates"].items():
        yield _figure(f"{at}.rates.{rate}.mean", table, table["mean"])
        unbounded = {**table, "low": None, "high": None}
        yield _figure(f"{at}.rates.{rate}.weight", unbounded, table["weight"])


def _figure(path: str, table: Mapping[str, Any], value: Any = None) -> Figure:
    rule = rule_of(path)
    return Figure(
        path=path,
        value=_plain(table["value"] if value is None else value),
        unit=rule.unit if rule else "",
        low=table.get("low"),
        high=table.get("high"),
        basis=table["basis"],
        sources=tuple(table.get("sources", ())),
        note=table.get("note", ""),
    )


def _plain(value: Any) -> FigureValue:
    return tuple(value) if isinstance(value, list) else value


def build_entry(file: Path, record: Mapping[str, Any], figures: Figures) -> SpeciesEntry:
    """The record of a species whose figures may have been replaced since they were read."""
    return SpeciesEntry(
        key=file.stem,
        scientific_name=record["scientific_name"],
        authorship=record["authorship"],
        family=record["family"],
        synonyms=tuple(record.get("synonyms", ())),
        common_names={code: tuple(names) for code, names in record["common_names"].items()},
        habit=record["habit"],
        regulated_as=record.get("regulated_as", ""),
        cautions=tuple(record.get("cautions", ())),
        note=record.get("note", ""),
        dioecious=bool(figures["dioecious"].value),
        spiny=bool(figures["spiny"].value),
        toxic=bool(figures["toxic"].value),
        seed=_seed(figures),
        storage=_storage(record["storage"], figures),
        collecting=_collecting(record, figures),
        protocols=tuple(_protocol(table, figures) for table in record["protocols"]),
        file=file,
        record=record,
        figure_table=figures,
    )


def _seed(figures: Figures) -> Seed:
    return Seed(
        thousand_seed_weight_g=figures["seed.thousand_seed_weight_g"].number,
        purity=figures["seed.purity"].number,
        extraction_yield=figures["seed.extraction_yield"].number,
        fruit_kg_per_mother=figures["seed.fruit_kg_per_mother"].number,
    )


def _storage(table: Mapping[str, Any], figures: Figures) -> Storage:
    return Storage(
        behaviour=str(figures["storage.class"].value),
        temperature=table["temperature"],
        moisture=table["moisture"],
        note=table.get("note", ""),
        seed_life_days=figures["storage.seed_life_days"].number,
        cuttings_life_days=_optional(figures, "storage.cuttings_life_days"),
        ke=_optional(figures, "storage.ke"),
        cw=_optional(figures, "storage.cw"),
        ch=_optional(figures, "storage.ch"),
        cq=_optional(figures, "storage.cq"),
    )


def _collecting(record: Mapping[str, Any], figures: Figures) -> Collecting:
    cuttings = figures.get("collecting.cuttings_months")
    return Collecting(
        part="cuttings" if record["protocols"][0]["method"] == "cuttings" else "seed",
        note=record["collecting"].get("note", ""),
        seed_months=figures["collecting.seed_months"].months,
        cuttings_months=cuttings.months if cuttings else (),
        cuttings_per_mother=_optional(figures, "collecting.cuttings_per_mother"),
    )


def _protocol(table: Mapping[str, Any], figures: Figures) -> Protocol:
    at = f"protocols.{table['key']}"
    seeds = _optional(figures, f"{at}.seeds_per_cell")
    return Protocol(
        key=table["key"],
        name=table["name"],
        method=table["method"],
        age_class=table["age_class"],
        note=table.get("note", ""),
        pretreatment=tuple(_phase(at, "pretreatment", row, figures) for row in table.get("pretreatment", ())),
        nursery=tuple(_phase(at, "nursery", row, figures) for row in table["nursery"]),
        sowing_months=figures[f"{at}.sowing_months"].months,
        container_volume_cm3=figures[f"{at}.container_volume_cm3"].number,
        seeds_per_cell=None if seeds is None else int(seeds),
        rates={name: _rate(f"{at}.rates.{name}", figures) for name in table["rates"]},
    )


def _phase(at: str, stage: str, row: Mapping[str, Any], figures: Figures) -> Phase:
    path = f"{at}.phases.{row['key']}"
    length = figures.get(f"{path}.days") or figures[f"{path}.degree_days"]
    return Phase(
        key=row["key"],
        stage=stage,
        days=_optional(figures, f"{path}.days"),
        degree_days=_optional(figures, f"{path}.degree_days"),
        base_c=_optional(figures, f"{path}.base_c"),
        temperature_c=_optional(figures, f"{path}.temperature_c"),
        low=length.low,
        high=length.high,
        basis=length.basis,
        sources=length.sources,
        note=row.get("note", ""),
        caution=row.get("caution", ""),
    )


def _rate(path: str, figures: Figures) -> Rate:
    mean = figures[f"{path}.mean"]
    return Rate(
        mean=mean.number,
        weight=figures[f"{path}.weight"].number,
        low=mean.low,
        high=mean.high,
        basis=mean.basis,
        sources=mean.sources,
        note=mean.note,
    )


def _optional(figures: Figures, path: str) -> float | None:
    figure = figures.get(path)
    return None if figure is None or figure.basis == "unknown" else figure.number
