"""Pairs of lot and site, and what is compared between the two."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.distance import distances


@dataclass(frozen=True)
class Match:
    """Of one code on both sides of each pair: whether it is written down, and the same."""

    same: Bools
    lot_known: Bools
    site_known: Bools


@dataclass(frozen=True, eq=False)
class Pairs:
    """Positions of lots and sites in their tables, one pair an element."""

    lots: pd.DataFrame
    sites: pd.DataFrame
    lot: Ints
    site: Ints

    def of_lot(self, name: str) -> Floats:
        """A number of each pair's lot; NaN where unknown."""
        return numbers(self.lots, name)[self.lot]

    def of_site(self, name: str) -> Floats:
        """A number of each pair's site; NaN where unknown."""
        return numbers(self.sites, name)[self.site]

    @cached_property
    def region(self) -> Match:
        """Regions of provenance."""
        return self._match("region_code")

    @cached_property
    def basin(self) -> Match:
        """River basins."""
        return self._match("basin")

    def _match(self, name: str) -> Match:
        lots, sites = texts(self.lots, name), texts(self.sites, name)
        codes = pd.factorize(np.concatenate([lots, sites]))[0]
        of_lot, of_site = codes[: len(lots)][self.lot], codes[len(lots) :][self.site]
        lot_known, site_known = (lots != "")[self.lot], (sites != "")[self.site]
        return Match((of_lot == of_site) & lot_known & site_known, lot_known, site_known)

    @cached_property
    def distance_m(self) -> Floats:
        """Geodesic metres; each way between two places is measured once, however many lots a stand has."""
        places, place = np.unique(
            np.column_stack([numbers(self.lots, "latitude"), numbers(self.lots, "longitude")]),
            axis=0, return_inverse=True,
        )  # fmt: skip
        ways, way = np.unique(place.ravel()[self.lot] * len(self.sites) + self.site, return_inverse=True)
        start, end = np.divmod(ways, max(len(self.sites), 1))
        metres = distances(
            places[start, 0], places[start, 1],
            numbers(self.sites, "latitude")[end], numbers(self.sites, "longitude")[end],
        )  # fmt: skip
        measured: Floats = metres[way.ravel()]
        return measured


def numbers(table: pd.DataFrame, name: str) -> Floats:
    """A column as floats, NaN where unknown; all NaN where the table has no such column."""
    if name not in table.columns:
        return np.full(len(table), np.nan)
    return pd.to_numeric(table[name]).to_numpy(np.float64, na_value=np.nan)


def texts(table: pd.DataFrame, name: str) -> np.ndarray:
    """A column as stripped texts, empty where unknown; all empty where the table has no such column."""
    if name not in table.columns:
        return np.full(len(table), "", object)
    return table[name].fillna("").astype(str).str.strip().to_numpy(object)
