"""Pairs of lot and site, and what is compared between the two."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from nursery.planning.arrays import Bools, Floats, Ints
from nursery.planning.distance import distances
from nursery.planning.heavy import pd


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
        """Regions of provenance; the site's is that of the lot's species where this has regions of its own."""
        return _match(texts(self.lots, "region_code")[self.lot], self.site_regions)

    @cached_property
    def basin(self) -> Match:
        """River basins."""
        return _match(texts(self.lots, "basin")[self.lot], texts(self.sites, "basin")[self.site])

    @cached_property
    def site_regions(self) -> np.ndarray:
        """The region of each pair's site as it holds for the lot's species; empty where unknown."""
        general = texts(self.sites, "region_code")[self.site]
        if "own_regions" not in self.sites.columns:
            return general
        species, of_lot = np.unique(numbers(self.lots, "species_id"), return_inverse=True)
        column = {key: number for number, key in enumerate(species.tolist())}
        own = np.full((len(self.sites), len(species)), "", object)
        for row, regions in enumerate(self.sites["own_regions"]):
            for key, code in regions:
                if key in column:
                    own[row, column[key]] = code
        found = own[self.site, of_lot.ravel()[self.lot]]
        return np.where(found == "", general, found)

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


def _match(of_lot: np.ndarray, of_site: np.ndarray) -> Match:
    lot_known, site_known = of_lot != "", of_site != ""
    return Match((of_lot == of_site) & lot_known & site_known, lot_known, site_known)


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
