"""A nursery's own figures replace the catalogue's, are marked as its own, and are refused when absurd."""

from __future__ import annotations

import math

import pytest

from nursery.catalog import Phase, load_catalog, with_learned, with_overrides
from nursery.errors import Invalid, NotFound

OAK = load_catalog().species["quercus-suber"]
WEIGHT = "seed.thousand_seed_weight_g"
GERMINATION = "protocols.fresh-direct.rates.germination"


def test_a_figure_is_found_by_its_path_with_range_basis_and_sources() -> None:
    figure = OAK.figure(WEIGHT)
    assert (figure.number, figure.unit, figure.low, figure.high, figure.basis, figure.own) == (
        4300,
        "g",
        2761.96,
        6060,
        "seen",
        False,
    )
    assert figure.sources == ("OAPN2012", "BLV2001", "USDA_AH727")


def test_every_figure_can_be_replaced_by_itself() -> None:
    for entry in load_catalog().species.values():
        figures = entry.figures()
        replaced = with_overrides(entry, {path: figure.value for path, figure in figures.items()})
        assert {f.basis for f in replaced.figures().values()} == {"own"}
        assert {p: f.value for p, f in replaced.figures().items()} == {p: f.value for p, f in figures.items()}


def test_own_figures_show_in_the_records_and_as_own() -> None:
    own = with_overrides(
        OAK,
        {
            WEIGHT: 3900,
            f"{GERMINATION}.mean": 0.7,
            f"{GERMINATION}.weight": 200,
            "protocols.fresh-direct.phases.growing.days": 210,
            "protocols.fresh-direct.sowing_months": [11, 12],
            "collecting.seed_months": (10, 11),
            "spiny": True,
            "storage.class": "intermediate",
        },
    )
    protocol = own.default_protocol
    rate = protocol.rates["germination"]
    growing = next(phase for phase in protocol.phases if phase.key == "growing")
    assert own.seed.thousand_seed_weight_g == 3900
    assert (rate.mean, rate.weight, rate.basis, rate.low, rate.sources) == (0.7, 200, "own", None, ())
    assert (growing.days, growing.basis) == (210, "own")
    assert protocol.sowing_months == (11, 12)
    assert own.collecting.months == (10, 11)
    assert (own.spiny, own.storage.behaviour) == (True, "intermediate")
    assert len([figure for figure in own.figures().values() if figure.own]) == 8


def test_the_catalogue_itself_stays_as_it_was() -> None:
    with_overrides(OAK, {WEIGHT: 1})
    assert load_catalog().species["quercus-suber"] is OAK
    assert OAK.seed.thousand_seed_weight_g == 4300


def test_nothing_replaced_gives_the_same_species() -> None:
    assert with_overrides(OAK, {}) is OAK


@pytest.mark.parametrize(
    ("path", "value", "remedy"),
    [
        (WEIGHT, 0, "Write a number from 0.001 to 100,000."),
        (WEIGHT, -5, "Write a number from 0.001 to 100,000."),
        (WEIGHT, math.nan, "Write a number from 0.001 to 100,000."),
        (WEIGHT, math.inf, "Write a number from 0.001 to 100,000."),
        (WEIGHT, "3900", "Write a number."),
        (WEIGHT, True, "Write a number."),
        (WEIGHT, None, "Write a number."),
        (f"{GERMINATION}.mean", 85, "Write a number from 0.001 to 1."),
        (f"{GERMINATION}.mean", 0, "Write a number from 0.001 to 1."),
        ("protocols.fresh-direct.rates.cull.mean", 1, "Write a number from 0 to 0.99."),
        ("collecting.seed_months", [0, 13], "Write a list of month numbers from 1 to 12, each once."),
        ("collecting.seed_months", [], "Write a list of month numbers from 1 to 12, each once."),
        ("collecting.seed_months", [5, 5], "Write a list of month numbers from 1 to 12, each once."),
        ("collecting.seed_months", 5, "Write a list of month numbers from 1 to 12, each once."),
        ("protocols.presprouted.seeds_per_cell", 1.5, "Write a whole number."),
        ("storage.class", "dry", "Write one of orthodox, intermediate, recalcitrant."),
        ("toxic", "yes", "Write true or false."),
    ],
)
def test_an_absurd_figure_is_refused_with_value_and_remedy(path: str, value: object, remedy: str) -> None:
    with pytest.raises(Invalid) as refused:
        with_overrides(OAK, {path: value})
    assert refused.value.errors == {path: f"“{value}” does not fit {path}. {remedy}"}


def test_all_refusals_are_told_at_once_and_an_unknown_figure_names_the_near_ones() -> None:
    with pytest.raises(Invalid) as refused:
        with_overrides(OAK, {WEIGHT: -1, "seed.thousand_seed_weight": 5, "seed.purity": 0.9})
    assert list(refused.value.errors) == [WEIGHT, "seed.thousand_seed_weight"]
    assert refused.value.errors["seed.thousand_seed_weight"].startswith(
        "The catalogue has no “seed.thousand_seed_weight”; near it are seed.thousand_seed_weight_g"
    )


def test_an_unknown_figure_or_protocol_is_not_found() -> None:
    with pytest.raises(NotFound):
        OAK.figure("nothing")
    with pytest.raises(NotFound):
        OAK.protocol("summer")


def test_a_figure_of_another_kind_is_not_taken_for_a_number() -> None:
    with pytest.raises(TypeError):
        _ = OAK.figure("spiny").number
    with pytest.raises(TypeError):
        _ = OAK.figure(WEIGHT).months


def _phase(protocol: str, key: str) -> Phase:
    alder = load_catalog().species["alnus-glutinosa"]
    return next(phase for phase in alder.protocol(protocol).phases if phase.key == key)


def test_growing_runs_in_days_or_in_degree_days() -> None:
    days, heat = _phase("chilled-pricked-out", "growing"), _phase("short-crop", "growing")
    assert (days.days, days.degree_days, days.base_c) == (160, None, None)
    assert (heat.days, heat.degree_days, heat.base_c) == (None, 1300, 5)


def test_total_days_are_known_only_where_all_phases_run_in_days() -> None:
    alder = load_catalog().species["alnus-glutinosa"]
    # 1 soak + 42 cold + 24 emergence + 12 pricking out + 160 growing + 40 hardening
    assert alder.default_protocol.total_days == 279
    assert alder.protocol("short-crop").total_days is None


def test_learned_figures_carry_their_range_and_cite_nothing() -> None:
    learned = with_learned(
        OAK, {f"{GERMINATION}.mean": (0.6, 0.5, 0.7), f"{GERMINATION}.weight": (33.0, None, None)}
    )
    rate = learned.default_protocol.rates["germination"]
    assert (rate.mean, rate.weight, rate.low, rate.high, rate.basis, rate.sources) == (
        0.6, 33.0, 0.5, 0.7, "learned", (),
    )  # fmt: skip
    figure = learned.figure(f"{GERMINATION}.mean")
    assert (figure.learned, figure.own) == (True, False)
    assert OAK.figure(f"{GERMINATION}.mean").learned is False


def test_own_figures_lie_over_learned_ones() -> None:
    learned = with_learned(OAK, {f"{GERMINATION}.mean": (0.6, 0.5, 0.7)})
    own = with_overrides(learned, {f"{GERMINATION}.mean": 0.9}).figure(f"{GERMINATION}.mean")
    assert (own.value, own.basis, own.low) == (0.9, "own", None)


def test_nothing_learned_leaves_the_very_entry() -> None:
    assert with_learned(OAK, {}) is OAK


def test_a_learned_value_beyond_its_bounds_is_taken_at_the_bound() -> None:
    cull = "protocols.fresh-direct.rates.cull.mean"
    assert with_learned(OAK, {cull: (0.999, None, None)}).figure(cull).value == 0.99


def test_a_learned_figure_that_is_not_there_is_refused() -> None:
    with pytest.raises(NotFound):
        with_learned(OAK, {"protocols.gone.rates.cull.mean": (0.1, None, None)})
