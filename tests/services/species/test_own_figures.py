"""A nursery's own figures: set with a reason, in force everywhere, taken back again, all of it on record."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.errors import Invalid, NotFound
from nursery.models import Change, Override, Species
from nursery.services.catalogue import effective_entries
from nursery.services.setup import set_up
from nursery.services.species import SpeciesQuery, list_species, read_species, set_figure, take_back_figure

KEY, PURITY = "arbutus-unedo", "seed.purity"
GERMINATION = "protocols.chilled-pricked-out.rates.germination.mean"


@pytest.fixture(autouse=True)
def _species(session: Session) -> None:
    set_up(session, "Ana")


def _set(session: Session, figure: str, value: Any, reason: str = "float test of three lots") -> Override:
    return set_figure(session, "Rui", key=KEY, figure=figure, value=value, reason=reason)


def _entry(session: Session) -> Any:
    species_id = session.scalars(select(Species.id).where(Species.key == KEY)).one()
    return effective_entries(session, [species_id])[species_id]


def test_an_own_figure_is_the_one_in_force(session: Session) -> None:
    _set(session, GERMINATION, 0.55)
    entry = _entry(session)
    assert entry.protocol("chilled-pricked-out").rates["germination"].mean == 0.55
    assert entry.figure(GERMINATION).basis == "own"


def test_the_catalogue_itself_stays_as_it_was(session: Session) -> None:
    shipped = load_catalog().species[KEY].seed.purity
    _set(session, PURITY, 0.5)
    assert load_catalog().species[KEY].seed.purity == shipped


def test_taking_back_brings_the_catalogues_figure_back(session: Session) -> None:
    _set(session, PURITY, 0.5)
    assert take_back_figure(session, "Rui", key=KEY, figure=PURITY) is True
    assert _entry(session).seed.purity == load_catalog().species[KEY].seed.purity
    assert take_back_figure(session, "Rui", key=KEY, figure=PURITY) is False


def test_both_ways_are_on_record_with_person_and_reason(session: Session) -> None:
    _set(session, PURITY, 0.5, "weighed by hand")
    _set(session, PURITY, 0.6, "weighed again")
    take_back_figure(session, "Lia", key=KEY, figure=PURITY)
    changes = session.scalars(select(Change).where(Change.subject == "species").order_by(Change.id)).all()
    assert [(change.person, change.details) for change in changes] == [
        ("Rui", {PURITY: [None, 0.5], "reason": [None, "weighed by hand"]}),
        ("Rui", {PURITY: [0.5, 0.6], "reason": [None, "weighed again"]}),
        ("Lia", {PURITY: [0.6, None]}),
    ]


def test_the_same_figure_twice_is_one_row_and_one_change(session: Session) -> None:
    _set(session, PURITY, 0.5)
    _set(session, PURITY, 0.5)
    assert len(session.scalars(select(Override)).all()) == 1
    assert len(session.scalars(select(Change).where(Change.subject == "species")).all()) == 1


@pytest.mark.parametrize(
    ("figure", "value", "told"),
    [
        (PURITY, 1.4, "“140 %” does not fit Purity after cleaning. Write a number from 0.01 to 1."),
        (PURITY, float("nan"), "“NaN %” does not fit Purity after cleaning. Write a number from 0.01 to 1."),
        (
            "seed.thousand_seed_weight_g",
            -2.0,
            "“-2 g” does not fit Thousand-seed weight. Write a number from 0.001 to 100,000.",
        ),
        (
            "storage.class",
            "hardy",
            "“hardy” does not fit Storage class. Write one of orthodox, intermediate, recalcitrant.",
        ),
        (
            "collecting.seed_months",
            [],
            "“[]” does not fit Months for collecting seed. Write a list of month numbers from 1 to 12, each once.",
        ),
    ],
)
def test_a_figure_out_of_bounds_is_refused_with_its_value_and_the_remedy(
    session: Session, figure: str, value: Any, told: str
) -> None:
    with pytest.raises(Invalid) as refused:
        _set(session, figure, value)
    assert refused.value.errors == {"value": told}
    assert session.scalars(select(Override)).all() == []


def test_a_reason_is_needed(session: Session) -> None:
    with pytest.raises(Invalid) as refused:
        _set(session, PURITY, 0.5, "  ")
    assert list(refused.value.errors) == ["reason"]


def test_a_figure_that_the_species_lacks_is_not_found(session: Session) -> None:
    with pytest.raises(NotFound):
        _set(session, "storage.life_in_hot_sun", 8.0)


def test_constants_that_nobody_knows_can_be_set_and_taken_back(session: Session) -> None:
    assert read_species(session, KEY).figures["storage.ke"].text == "–"
    assert read_species(session, KEY).entry.storage.ke is None

    _set(session, "storage.ke", 8.0)
    assert read_species(session, KEY).entry.storage.ke == 8.0

    take_back_figure(session, "Ana Seabra", key=KEY, figure="storage.ke")
    assert read_species(session, KEY).entry.storage.ke is None


def test_the_view_shows_both_figures_and_why(session: Session) -> None:
    _set(session, PURITY, 0.5, "weighed by hand")
    view = read_species(session, KEY)
    purity = view.figures[PURITY]
    assert (purity.text, purity.catalogue_text, purity.catalogue_range) == ("50 %", "95 %", "85 % to 99 %")
    assert (purity.basis_word, purity.reason, purity.person) == ("Our own", "weighed by hand", "Rui")
    assert [figure.path for figure in view.own] == [PURITY]


def test_an_own_figure_that_the_catalogue_dropped_counts_for_nothing_and_is_told(session: Session) -> None:
    species_id = session.scalars(select(Species.id).where(Species.key == KEY)).one()
    gone = Override(species_id=species_id, figure="protocols.gone.seeds_per_cell", value=2, person="Rui")
    session.add(gone)
    session.flush()
    view = read_species(session, KEY)
    assert (view.outdated, view.own) == ([gone], [])
    assert take_back_figure(session, "Rui", key=KEY, figure=gone.figure) is True


def test_a_person_finds_species_by_synonym_by_common_name_and_by_own_figures(session: Session) -> None:
    def keys(**asked: Any) -> list[str]:
        return [row.entry.key for row in list_species(session, SpeciesQuery(**asked))]

    assert keys(q="Quercus ilex subsp. ballota") == ["quercus-rotundifolia"]
    assert keys(q="medronh") == [KEY]
    assert keys(own=True) == []
    _set(session, PURITY, 0.5)
    assert keys(own=True) == [KEY]


def test_the_storage_filter_goes_by_the_figure_in_force(session: Session) -> None:
    _set(session, "storage.class", "recalcitrant")
    found = list_species(session, SpeciesQuery(q="medronheiro", storage="recalcitrant"))
    assert [(row.entry.key, row.storage, row.own_figures) for row in found] == [(KEY, "Recalcitrant", 1)]
