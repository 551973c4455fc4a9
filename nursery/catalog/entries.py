"""What the catalogue holds, as frozen records: a species, its figures, its protocols, their evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from nursery.catalog.figures import Figure, missing_figure


@dataclass(frozen=True, slots=True)
class Source:
    """A published work that figures are cited from."""

    short: str
    reference: str
    url: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """One collected row behind a working figure; ``memory`` rows were recalled, not read, and cite nothing."""

    field: str
    value: float | str
    unit: str
    source: str
    where: str
    memory: bool


@dataclass(frozen=True, slots=True)
class Rate:
    """A stage rate as Beta(mean·weight, (1 − mean)·weight); ``weight`` is the number of trials it is worth."""

    mean: float
    weight: float
    low: float | None
    high: float | None
    basis: str
    sources: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of a protocol: either ``days``, or ``degree_days`` above ``base_c``."""

    key: str
    stage: str
    days: float | None
    degree_days: float | None
    base_c: float | None
    temperature_c: float | None
    low: float | None
    high: float | None
    basis: str
    sources: tuple[str, ...]
    note: str
    caution: str


@dataclass(frozen=True, slots=True)
class Protocol:
    """One way to raise the species; months are those of the northern hemisphere."""

    key: str
    name: str
    method: str
    age_class: str
    note: str
    pretreatment: tuple[Phase, ...]
    nursery: tuple[Phase, ...]
    sowing_months: tuple[int, ...]
    container_volume_cm3: float
    seeds_per_cell: int | None
    rates: Mapping[str, Rate]

    @property
    def part(self) -> str:
        """What it starts from: ``seed`` or ``cuttings``."""
        return "cuttings" if self.method == "cuttings" else "seed"

    @property
    def phases(self) -> tuple[Phase, ...]:
        """All phases in order of growth; sowing falls between the two groups."""
        return self.pretreatment + self.nursery

    @property
    def total_days(self) -> float | None:
        """Days from the first pretreatment to plants ready; None where a phase runs in degree-days."""
        days = [phase.days for phase in self.phases]
        return None if None in days else float(sum(d for d in days if d is not None))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Keys of the cautions to print with this work, each once."""
        return tuple(dict.fromkeys(phase.caution for phase in self.phases if phase.caution))


@dataclass(frozen=True, slots=True)
class Seed:
    """Weights and yields; mass in g, fractions 0–1."""

    thousand_seed_weight_g: float
    purity: float
    extraction_yield: float
    fruit_kg_per_mother: float


@dataclass(frozen=True, slots=True)
class Storage:
    """How seed keeps; ``*_life_days`` is the time in which viability halves at the conditions told."""

    behaviour: str
    temperature: str
    moisture: str
    note: str
    seed_life_days: float
    cuttings_life_days: float | None
    ke: float | None
    cw: float | None
    ch: float | None
    cq: float | None

    @property
    def storable(self) -> bool:
        """Whether seed may wait for another season."""
        return self.behaviour != "recalcitrant" and self.seed_life_days >= 365


@dataclass(frozen=True, slots=True)
class Collecting:
    """When and what to collect; months 1–12 of the northern hemisphere."""

    part: str
    note: str
    seed_months: tuple[int, ...]
    cuttings_months: tuple[int, ...]
    cuttings_per_mother: float | None

    @property
    def months(self) -> tuple[int, ...]:
        """Months for the part that the default protocol needs."""
        return self.cuttings_months if self.part == "cuttings" else self.seed_months


@dataclass(frozen=True, eq=False)
class SpeciesEntry:
    """A taxon of the catalogue with the figures in force (the files', or a nursery's own)."""

    key: str
    scientific_name: str
    authorship: str
    family: str
    synonyms: tuple[str, ...]
    common_names: Mapping[str, tuple[str, ...]]
    habit: str
    regulated_as: str
    cautions: tuple[str, ...]
    note: str
    dioecious: bool
    spiny: bool
    toxic: bool
    seed: Seed
    storage: Storage
    collecting: Collecting
    protocols: tuple[Protocol, ...]
    file: Path = field(repr=False)
    record: Mapping[str, Any] = field(repr=False)
    figure_table: Mapping[str, Figure] = field(repr=False)

    @property
    def default_protocol(self) -> Protocol:
        """The protocol used when nobody chose one: the first of the file."""
        return self.protocols[0]

    def protocol(self, key: str) -> Protocol:
        """The protocol with this key; raises NotFound."""
        for protocol in self.protocols:
            if protocol.key == key:
                return protocol
        raise missing_figure(key, [p.key for p in self.protocols])

    def protocol_for(self, key: str, method: str) -> Protocol:
        """The protocol with this key; where there is none, the first of the method, else the species' first."""
        named = [protocol for protocol in self.protocols if protocol.key == key]
        alike = [protocol for protocol in self.protocols if protocol.method == method]
        return [*named, *alike, *self.protocols][0]

    def life_days(self, part: str) -> float:
        """Days in which seed, or cuttings, lose half their viability in good storage."""
        cuttings = self.storage.cuttings_life_days
        return cuttings if part == "cuttings" and cuttings is not None else self.storage.seed_life_days

    def collecting_months(self, part: str) -> tuple[int, ...]:
        """Months in which seed, or cuttings, are collected."""
        return self.collecting.cuttings_months if part == "cuttings" else self.collecting.seed_months

    def figure(self, path: str) -> Figure:
        """The working figure at a dotted path such as ``seed.thousand_seed_weight_g``; raises NotFound."""
        try:
            return self.figure_table[path]
        except KeyError:
            raise missing_figure(path, self.figure_table) from None

    def figures(self) -> dict[str, Figure]:
        """Every working figure by its dotted path, in the order of the file."""
        return dict(self.figure_table)

    @cached_property
    def evidence(self) -> tuple[Evidence, ...]:
        """The rows behind the figures, read from the file when first asked for."""
        from nursery.catalog.reading import read_evidence  # noqa: PLC0415 -- reading builds these records

        return read_evidence(self.file)


@dataclass(frozen=True, eq=False)
class Catalog:
    """All species, in order of scientific name, and the works they cite."""

    folder: Path
    species: Mapping[str, SpeciesEntry]

    @cached_property
    def sources(self) -> dict[str, Source]:
        """Cited works by short name, read when first asked for."""
        from nursery.catalog.reading import read_sources  # noqa: PLC0415 -- reading builds these records

        return read_sources(self.folder)
