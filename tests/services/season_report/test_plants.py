"""Plants by species and by site come from the same cells, so that all sums are one."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from nursery.services.season_report.plants import ADDED, Cell, together

WHOLE = st.integers(0, 10_000_000)
CELLS = st.dictionaries(
    st.tuples(st.integers(1, 6), st.one_of(st.none(), st.integers(1, 5))),
    st.builds(Cell, **dict.fromkeys(ADDED, WHOLE)),
)


@given(CELLS)
def test_species_and_sites_come_to_the_same_season(cells: dict[tuple[int, int | None], Cell]) -> None:
    sums = together(cells)
    for name in ADDED:
        total = sum(getattr(cell, name) for cell in cells.values())
        assert getattr(sums.total, name) == total
        assert sum(getattr(cell, name) for cell in sums.by_species.values()) == total
        assert sum(getattr(cell, name) for cell in sums.by_site.values()) == total


@given(CELLS)
def test_adding_up_leaves_the_cells_as_they_were(cells: dict[tuple[int, int | None], Cell]) -> None:
    before = {key: cell.values() for key, cell in cells.items()}
    together(cells)
    assert {key: cell.values() for key, cell in cells.items()} == before
