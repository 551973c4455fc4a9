"""What the rules of origin say of lots at sites: the one home of the verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.heavy import pd
from nursery.planning.origin.measures import measure
from nursery.planning.origin.pairs import Pairs, numbers, texts
from nursery.planning.origin.rule_table import (
    COLUMN,
    LEVELS,
    LOW_IS_BAD,
    NOT_JUDGED,
    NUMERIC,
    RULES,
    Levels,
    RuleTable,
    level_of,
)  # fmt: skip
from nursery.planning.origin.sources import sources
from nursery.planning.origin.strategies import CLIMATE, LOCAL, Strategies
from nursery.planning.origin.words import Rule, Verdict

CAUTION, STOP = level_of(Verdict.CAUTION), level_of(Verdict.STOP)
#: A value is beyond a limit when it misses it by more than rounding does.
_ROUNDING = 1e-9
#: From the lowest to the highest (RD 289/2003 art. 2).
_CATEGORIES = ("source-identified", "selected", "qualified", "tested")
_NATIVE = ("autochthonous", "indigenous")


@dataclass(frozen=True, eq=False)
class Judgement:
    """Verdicts on pairs of lot and site; arrays of the shape (pairs,), ``findings`` (pairs, rules).

    ``verdict`` and ``findings`` are levels: 0 pass, 1 caution, 2 stop; -1 where a rule has nothing to say.
    Columns of ``findings`` are those of `rule_table.RULES`; ``source`` is a position in `strategies.SOURCES`.
    """

    pairs: Pairs
    rules: RuleTable
    accepts: Strategies
    verdict: Levels
    findings: Levels
    source: Ints
    distance_m: Floats

    def verdict_of(self, at: int) -> Verdict:
        """The verdict on one pair."""
        return LEVELS[int(self.verdict[at])]

    def reasons(self, at: int, *, passes: bool = False) -> list[dict[str, Any]]:
        """Why one pair has its verdict; see `reasons_of`."""
        return self.reasons_of(np.array([at]), passes=passes)[0]

    def reasons_of(self, at: Ints, *, passes: bool = False) -> list[list[dict[str, Any]]]:
        """Why each of some pairs has its verdict, worst first, as plain JSON values.

        Returns
        -------
        list of list of dict
            ``rule, verdict, found, limit, basis, note``: ``found`` and ``limit`` are numbers in the rule's unit
            or texts, ``found`` None where unknown; ``note`` is ``""``, ``"accepted"`` (the site's strategy made a
            stop a caution), ``"strict"`` (it made it a stop), ``"in place of the region"``, or ``"at most"``
            where ``found`` is only a bound.
            With ``passes``, the rules that are met too.
        """
        pairs = Pairs(self.pairs.lots, self.pairs.sites, self.pairs.lot[at], self.pairs.site[at])
        plain = _judge(pairs, self.rules, Strategies.none(len(pairs.sites))).findings
        expected = (self.source[at] == CLIMATE) & self.accepts.crosses[pairs.site]
        row = numbers(pairs.sites, "rule_row").astype(np.int64)[pairs.site]
        told: list[list[dict[str, Any]]] = [[] for _ in range(len(pairs.lot))]
        for rule in RULES:
            column = COLUMN[rule]
            level = self.findings[at, column]
            found = np.flatnonzero(level >= (0 if passes else CAUTION))
            if not found.size:
                continue
            here = Pairs(pairs.lots, pairs.sites, pairs.lot[found], pairs.site[found])
            compared = _compared(rule, here, self.rules, row[found], level[found], expected[found])
            no_region = ~here.region.site_known
            bound = _only_bound(rule, here)
            for n, values in enumerate(compared):
                pair = int(found[n])
                basis = self.rules.rules[int(row[pair])].get(rule.value, {}).get("basis", "")
                note = _note(rule, int(level[pair]), int(plain[pair, column]), no_region=bool(no_region[n]))
                note = "at most" if bound[n] else note
                verdict = LEVELS[int(level[pair])].value
                told[pair].append(
                    {"rule": rule.value, "verdict": verdict, **values, "basis": str(basis), "note": note}
                )
        return [sorted(each, key=lambda one: -level_of(one["verdict"])) for each in told]


def judge(
    lots: pd.DataFrame, sites: pd.DataFrame, lot: Ints, site: Ints, rules: RuleTable, *,
    accepts: Strategies, wanted: Ints | None = None,
) -> Judgement:  # fmt: skip
    """Verdicts on pairs of lot and site.

    Parameters
    ----------
    lots : DataFrame
        ``latitude, longitude`` (degrees), ``elevation_m, region_code, basin, status, category, is_held,
        effective_mothers, largest_family`` (fraction), ``mean_annual_c, annual_rain_mm, coldest_month_min_c``;
        ``most_mothers``, a bound for lots whose effective mothers are unknown; ``species_id`` with ``wanted``.
        Numbers are NaN and texts empty where unknown; a column left out is unknown throughout.
    sites : DataFrame
        ``latitude, longitude, elevation_m, region_code, basin, native_only, least_category, rule_row`` (row of
        ``rules``), the three climate columns, and those again with ``expected_`` before the name. Where species
        have regions of provenance of their own, ``own_regions``: tuples of species id and code for each site.
    lot, site : ndarray of int, shape (pairs,)
        Positions in the tables.
    rules : RuleTable
        Every version that a site follows.
    accepts : Strategies
        Strategies of the sites, in their order.
    wanted : ndarray of int, shape (pairs,), optional
        Species asked for; left out, the pairs are of one species each.

    Returns
    -------
    Judgement

    Notes
    -----
    A pair's verdict is its worst finding. A share for a source relaxes stops that region, basin and distance give
    it to cautions; what is unknown stays as it is. Limits and their sources: `defaults`.
    """
    pairs = Pairs(lots, sites, np.asarray(lot, np.int64), np.asarray(site, np.int64))
    return _judge(pairs, rules, accepts, wanted)


def _judge(pairs: Pairs, rules: RuleTable, accepts: Strategies, wanted: Ints | None = None) -> Judgement:
    row = numbers(pairs.sites, "rule_row").astype(np.int64)[pairs.site]
    source = sources(pairs, accepts)
    accepted = accepts.accepts(pairs.site, source)
    findings = np.full((len(pairs.lot), len(RULES)), NOT_JUDGED, np.int8)
    for rule in NUMERIC:
        value = measure(rule, pairs, accepted & (source == CLIMATE))
        findings[:, COLUMN[rule]] = _beyond(rule, value, rules, row, pairs)
    for rule, (differs, unknown, judged) in _compare(pairs, wanted).items():
        column = COLUMN[rule]
        level = np.where(unknown, rules.unknown[row, column], np.where(differs, rules.differs[row, column], 0))
        findings[:, column] = np.where(judged & (rules.unknown[row, column] != NOT_JUDGED), level, NOT_JUDGED)
    _stand_in(findings, pairs, rules, row)
    _follow_strategy(findings, pairs, source, accepted, accepts)
    verdict = np.maximum(findings.max(axis=1, initial=0), 0).astype(np.int8)
    return Judgement(pairs, rules, accepts, verdict, findings, source, pairs.distance_m)


def _beyond(rule: Rule, value: Floats, rules: RuleTable, row: Ints, pairs: Pairs) -> Levels:
    column = COLUMN[rule]
    unknown = rules.unknown[row, column]
    level = _level(rule, value, rules, row)
    level = np.where(np.isnan(value), unknown, level)
    if rule is Rule.MOTHERS:
        # A pooled lot has at most as many effective mothers as plants were sampled.
        bound = _level(rule, pairs.of_lot("most_mothers"), rules, row)
        level = np.where(np.isnan(value), np.maximum(unknown, bound), level)
    if rule is Rule.DISTANCE:
        level = np.where(pairs.region.lot_known & pairs.region.site_known, NOT_JUDGED, level)
    off = (unknown == NOT_JUDGED) | (np.isnan(rules.caution[row, column]) & np.isnan(rules.stop[row, column]))
    return np.where(off, NOT_JUDGED, level).astype(np.int8)


def _level(rule: Rule, value: Floats, rules: RuleTable, row: Ints) -> Levels:
    sign = -1.0 if rule in LOW_IS_BAD else 1.0
    caution, stop = (
        sign * (value - limits[row, COLUMN[rule]]) > _ROUNDING for limits in (rules.caution, rules.stop)
    )
    return np.where(stop, STOP, np.where(caution, CAUTION, 0)).astype(np.int8)


def _compare(pairs: Pairs, wanted: Ints | None) -> dict[Rule, tuple[Bools, Bools, Bools]]:
    """Of each yes-or-no rule: whether pairs differ, whether a fact is missing, whether the rule applies."""
    region, basin = pairs.region, pairs.basin
    always, never = np.ones(len(pairs.lot), np.bool_), np.zeros(len(pairs.lot), np.bool_)
    status, category = texts(pairs.lots, "status"), texts(pairs.lots, "category")
    unsaid = np.isin(status, ["", "unknown"])[pairs.lot]
    foreign = ~np.isin(status, _NATIVE)[pairs.lot]
    rank, least = _rank(category)[pairs.lot], _rank(texts(pairs.sites, "least_category"))[pairs.site]
    held = pairs.of_lot("is_held")
    found = {
        Rule.REGION: (~region.same, ~region.lot_known, region.site_known),
        Rule.BASIN: (~basin.same, ~(basin.lot_known & basin.site_known), always),
        Rule.STATUS: (foreign, unsaid, pairs.of_site("native_only") > 0),
        Rule.CATEGORY: (rank < least, rank == 0, least > 0),
        Rule.PERMIT: (held > 0, np.isnan(held), always),
    }
    if wanted is not None:
        species = pairs.of_lot("species_id")
        found[Rule.SPECIES] = (species != wanted, np.isnan(species), always)
    else:
        found[Rule.SPECIES] = (never, never, never)
    return found


def _rank(categories: np.ndarray) -> Ints:
    return np.select([categories == name for name in _CATEGORIES], range(1, len(_CATEGORIES) + 1), 0)


def _stand_in(findings: Levels, pairs: Pairs, rules: RuleTable, row: Ints) -> None:
    """At a site without a region its basin is judged as strictly as the region would be."""
    column = COLUMN[Rule.REGION]
    known = pairs.basin.lot_known & pairs.basin.site_known
    level = np.where(~known, rules.unknown[row, column], np.where(pairs.basin.same, 0, rules.differs[row, column]))
    basin = findings[:, COLUMN[Rule.BASIN]]
    findings[:, COLUMN[Rule.BASIN]] = np.where(pairs.region.site_known, basin, np.maximum(basin, level))


def _follow_strategy(findings: Levels, pairs: Pairs, source: Ints, accepted: Bools, accepts: Strategies) -> None:
    region, basin = COLUMN[Rule.REGION], COLUMN[Rule.BASIN]
    differs = {
        region: pairs.region.lot_known,
        basin: pairs.basin.lot_known & pairs.basin.site_known,
        COLUMN[Rule.DISTANCE]: ~np.isnan(pairs.distance_m),
    }
    for column, known in differs.items():
        relaxed = accepted & known & (findings[:, column] == STOP)
        findings[relaxed, column] = CAUTION
    refused = accepts.is_strict[pairs.site] & (source != LOCAL)
    by_region = pairs.region.site_known & ~pairs.region.same
    findings[refused & by_region, region] = STOP
    findings[refused & ~by_region, basin] = STOP


_TEXT_COLUMNS = {
    Rule.REGION: ("region_code", "region_code"),
    Rule.BASIN: ("basin", "basin"),
    Rule.STATUS: ("status", ""),
    Rule.CATEGORY: ("category", "least_category"),
}


def _compared(
    rule: Rule, pairs: Pairs, rules: RuleTable, row: Ints, level: Levels, expected: Bools
) -> list[dict[str, Any]]:
    """What was found and against which limit, pair by pair."""
    if rule in NUMERIC:
        column = COLUMN[rule]
        first, second = rules.caution[row, column], rules.stop[row, column]
        first, second = np.where(level < STOP, first, second), np.where(level < STOP, second, first)
        limits = np.where(np.isnan(first), second, first)
        value = measure(rule, pairs, expected)
        value = np.where(_only_bound(rule, pairs), pairs.of_lot("most_mothers"), value)
        return _both(_plain(value), _plain(limits))
    if rule in _TEXT_COLUMNS:
        of_lot, of_site = _TEXT_COLUMNS[rule]
        found = [str(each) or None for each in texts(pairs.lots, of_lot)[pairs.lot]]
        if rule is Rule.STATUS:
            return _both(found, ["native"] * len(found))
        asked = pairs.site_regions if rule is Rule.REGION else texts(pairs.sites, of_site)[pairs.site]
        return _both(found, [str(each) or None for each in asked])
    if rule is Rule.PERMIT:
        held = _plain(pairs.of_lot("is_held"))
        return _both(
            [None if each is None else ("held" if each else "free") for each in held], ["free"] * len(held)
        )
    return _both(
        ["other species" if each else "same species" for each in level.tolist()], ["same species"] * len(level)
    )


def _only_bound(rule: Rule, pairs: Pairs) -> Bools:
    """Pairs of which only the most effective mothers that there can be are known."""
    if rule is not Rule.MOTHERS:
        return np.zeros(len(pairs.lot), np.bool_)
    return np.isnan(pairs.of_lot("effective_mothers")) & ~np.isnan(pairs.of_lot("most_mothers"))


def _plain(values: Floats) -> list[float | None]:
    return [None if np.isnan(value) else value for value in values.tolist()]


def _both(found: Sequence[object], limits: Sequence[object]) -> list[dict[str, Any]]:
    return [{"found": one, "limit": two} for one, two in zip(found, limits, strict=True)]


def _note(rule: Rule, level: int, plain: int, *, no_region: bool) -> str:
    if level < plain:
        return "accepted"
    if level > plain and rule is not Rule.SPECIES:
        return "strict"
    if rule is Rule.BASIN and no_region:
        return "in place of the region"
    return ""
