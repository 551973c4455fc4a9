"""Which lots may be mixed, what the mixture is, and whose seed is in it.

The rule is the six-row table of permitted mixing of Spain's Royal Decree 289/2003, art. 9(3), which carries out
art. 13 of Council Directive 1999/105/EC (rows a–e and the last sentence on indigenous material). What the table
does not name is refused.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from graphlib import TopologicalSorter

#: Where the rule is written, for pages and tests.
SOURCE = "RD 289/2003 art. 9(3); Directive 1999/105/EC art. 13"


class Category(StrEnum):
    """Categories of the law (RD 289/2003 art. 2)."""

    SOURCE_IDENTIFIED = "source-identified"
    SELECTED = "selected"
    QUALIFIED = "qualified"
    TESTED = "tested"


class Basic(StrEnum):
    """Types of basic material (RD 289/2003 art. 2)."""

    SEED_SOURCE = "seed source"
    STAND = "stand"
    SEED_ORCHARD = "seed orchard"
    PARENTS = "parents of family"
    CLONE = "clone"
    CLONAL_MIXTURE = "clonal mixture"


class Status(StrEnum):
    """Whether a stand belongs where it grows."""

    AUTOCHTHONOUS = "autochthonous"
    INDIGENOUS = "indigenous"
    NON_INDIGENOUS = "non-indigenous"
    UNKNOWN = "unknown"


_NATIVE = frozenset({Status.AUTOCHTHONOUS, Status.INDIGENOUS})


class Rule(StrEnum):
    """Rows of the table that allow a mixture."""

    UNITS = "a"
    TYPES = "b"
    UNKNOWN = "c"
    REGION_CODE = "d"
    YEARS = "e"


class Refusal(StrEnum):
    """Why a mixture is not allowed."""

    ONE_LOT = "one lot"
    SPECIES = "species"
    NATIVE = "native with other"
    REGION = "region"
    REGION_UNKNOWN = "region unknown"
    CATEGORY = "category"
    TYPES = "types"
    YEARS = "years"


@dataclass(frozen=True, slots=True)
class Part:
    """One collected lot in a mixture; ``unit`` names its approval unit."""

    species: str
    unit: str
    region: str
    year: int
    status: Status
    category: Category = Category.SOURCE_IDENTIFIED
    basic: Basic = Basic.SEED_SOURCE


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the table says; the class of the result is given where the mixture is allowed."""

    rules: tuple[Rule, ...]
    refusals: tuple[Refusal, ...]
    category: Category | None = None
    basic: Basic | None = None
    status: Status | None = None
    #: Whether the authority has to issue a new master certificate.
    needs_certificate: bool = False

    @property
    def allowed(self) -> bool:
        """Whether the lots may be mixed."""
        return not self.refusals


def judge_mix(parts: Sequence[Part]) -> Verdict:
    """The verdict of the six-row table on a mixture of all of ``parts``.

    Parameters
    ----------
    parts
        Every collected lot that the mixture would hold seed of; those inside an earlier mixture count one by one,
        so that no row can be got around in two steps.

    Returns
    -------
    Verdict
        All rows that apply, or all reasons against it. Lots of one approval unit and one year are the same
        material: no row is needed, and no new certificate.

    Notes
    -----
    Source: `SOURCE`. That the table's condition “same region” is not met where a region is not written down, and
    that autochthonous with indigenous material is classed as indigenous, are readings of ours, no source.
    """
    refusals = _refusals(parts)
    if refusals:
        return Verdict((), refusals)
    rules: list[Rule] = []
    if len({part.unit for part in parts}) > 1:
        rules.append(Rule.UNITS)
        if len({part.basic for part in parts}) > 1:
            rules.append(Rule.TYPES)
        if {part.status for part in parts} == {Status.NON_INDIGENOUS, Status.UNKNOWN}:
            rules.append(Rule.UNKNOWN)
        rules.append(Rule.REGION_CODE)
    if len({part.year for part in parts}) > 1:
        rules.append(Rule.YEARS)
    return Verdict(
        tuple(rules), (), parts[0].category, _basic_of(parts), _status_of(parts), needs_certificate=bool(rules)
    )


def _refusals(parts: Sequence[Part]) -> tuple[Refusal, ...]:
    if not parts:
        return (Refusal.ONE_LOT,)
    found = []
    if len({part.species for part in parts}) > 1:
        found.append(Refusal.SPECIES)
    native = {part.status in _NATIVE for part in parts}
    if len(native) > 1:
        found.append(Refusal.NATIVE)
    if len({part.unit for part in parts}) > 1:
        found += _refusals_between_units(parts)
    return tuple(found)


def _refusals_between_units(parts: Sequence[Part]) -> list[Refusal]:
    found = []
    regions, categories = {part.region for part in parts}, {part.category for part in parts}
    basics = {part.basic for part in parts}
    if "" in regions:
        found.append(Refusal.REGION_UNKNOWN)
    elif len(regions) > 1:
        found.append(Refusal.REGION)
    if len(categories) > 1 or not categories <= {Category.SOURCE_IDENTIFIED, Category.SELECTED}:
        found.append(Refusal.CATEGORY)
    both = basics == {Basic.SEED_SOURCE, Basic.STAND} and categories == {Category.SOURCE_IDENTIFIED}
    if len(basics) > 1 and not both:
        found.append(Refusal.TYPES)
    if len({part.year for part in parts}) > 1:
        found.append(Refusal.YEARS)
    return found


def _basic_of(parts: Sequence[Part]) -> Basic:
    basics = {part.basic for part in parts}
    return Basic.SEED_SOURCE if len(basics) > 1 else parts[0].basic


def _status_of(parts: Sequence[Part]) -> Status:
    statuses = {part.status for part in parts}
    if len(statuses) == 1:
        return parts[0].status
    return Status.INDIGENOUS if statuses <= _NATIVE else Status.UNKNOWN


def origin_shares(inflows: Iterable[tuple[int, int, int]], lot: int) -> dict[int, float]:
    """Shares of the collected lots in ``lot``, through any chain of mixes and splits.

    Parameters
    ----------
    inflows
        ``(into, from, amount)`` of each split and mix above the lot; all amounts into one lot in the same unit.
    lot
        The lot asked about.

    Returns
    -------
    dict
        Share (0–1, sum 1) by collected lot; ``{lot: 1.0}`` for one that nothing flowed into.
    """
    into: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for child, parent, amount in inflows:
        into[child][parent] += amount
    known: dict[int, dict[int, float]] = {}
    above: dict[int, list[int]] = {lot: [], **{child: list(parents) for child, parents in into.items()}}
    for one in TopologicalSorter(above).static_order():
        if one not in into:
            known[one] = {one: 1.0}
            continue
        total = sum(into[one].values())
        terms: dict[int, list[float]] = defaultdict(list)
        for parent, amount in into[one].items():
            for origin, share in known[parent].items():
                terms[origin].append(share * amount / total)
        known[one] = {origin: math.fsum(shares) for origin, shares in terms.items()}
    return known[lot]


@dataclass(frozen=True, slots=True)
class Figures:
    """Tested figures of a lot; fractions 0–1, g, % wet basis; None where unknown."""

    amount: int
    purity: float | None = None
    tsw_g: float | None = None
    germination: float | None = None
    moisture_pct: float | None = None


def blend_figures(lots: Sequence[Figures], *, counted: bool = False) -> Figures:
    """Figures of the mixture, each known only where it is known of every part.

    Weight is shared out as it is mixed: purity and moisture by weight, thousand-seed weight by the seeds in it,
    germination by pure seeds (by weight where purity or seed weight is unknown). Conservation of weight and of
    seeds; no source. ``counted``: the amounts are seeds already.
    """
    amounts = [float(lot.amount) for lot in lots]
    purity = _mean([lot.purity for lot in lots], amounts)
    moisture = _mean([lot.moisture_pct for lot in lots], amounts)
    pure = [a if counted or lot.purity is None else a * lot.purity for a, lot in zip(amounts, lots, strict=True)]
    tsw = None
    seeds = amounts if counted else pure
    weights = [lot.tsw_g for lot in lots]
    if all(weight is not None for weight in weights):
        known = [float(weight or 0.0) for weight in weights]
        if counted:
            tsw = _mean(known, amounts)
        else:
            seeds = [p / weight for p, weight in zip(pure, known, strict=True)]
            tsw = math.fsum(pure) / math.fsum(seeds)
    germination = _mean([lot.germination for lot in lots], seeds)
    return Figures(sum(lot.amount for lot in lots), purity, tsw, germination, moisture)


def _mean(values: Sequence[float | None], weights: Sequence[float]) -> float | None:
    if any(value is None for value in values) or not math.fsum(weights):
        return None
    total = math.fsum((value or 0.0) * weight for value, weight in zip(values, weights, strict=True))
    mean = total / math.fsum(weights)
    # Rounding must not carry a mean past what it was taken of.
    return min(max(mean, min(v or 0.0 for v in values)), max(v or 0.0 for v in values))
