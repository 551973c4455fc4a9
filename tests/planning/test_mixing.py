"""The six-row table of permitted mixing, row by row: RD 289/2003 art. 9(3), Directive 1999/105/EC art. 13."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nursery.planning.mixing import (
    SOURCE,
    Basic,
    Category,
    Figures,
    Part,
    Refusal,
    Rule,
    Status,
    blend_figures,
    judge_mix,
    origin_shares,
)


def part(unit: str = "P-1", **values: Any) -> Part:
    defaults = {"species": "quercus-suber", "region": "R1", "year": 2026, "status": Status.INDIGENOUS}
    return Part(unit=unit, **{**defaults, **values})


def test_the_rule_names_where_it_is_written() -> None:
    assert SOURCE == "RD 289/2003 art. 9(3); Directive 1999/105/EC art. 13"


@pytest.mark.parametrize("category", [Category.SOURCE_IDENTIFIED, Category.SELECTED])
def test_row_a_units_of_one_region_and_category_get_a_new_certificate(category: Category) -> None:
    verdict = judge_mix([part("P-1", category=category), part("P-2", category=category)])

    assert verdict.allowed
    assert (verdict.rules, verdict.needs_certificate) == ((Rule.UNITS, Rule.REGION_CODE), True)
    assert (verdict.category, verdict.basic, verdict.status) == (category, Basic.SEED_SOURCE, Status.INDIGENOUS)


@pytest.mark.parametrize(
    ("other", "refusals"),
    [
        ({"region": "R2"}, (Refusal.REGION,)),
        ({"region": ""}, (Refusal.REGION_UNKNOWN,)),
        ({"category": Category.SELECTED}, (Refusal.CATEGORY,)),
        ({"region": "R2", "category": Category.SELECTED}, (Refusal.REGION, Refusal.CATEGORY)),
        ({"species": "quercus-ilex"}, (Refusal.SPECIES,)),
    ],
)
def test_row_a_fails_without_one_region_and_one_category(
    other: dict[str, Any], refusals: tuple[Refusal, ...]
) -> None:
    assert judge_mix([part("P-1"), part("P-2", **other)]).refusals == refusals


@pytest.mark.parametrize("category", [Category.QUALIFIED, Category.TESTED])
def test_row_a_knows_only_source_identified_and_selected(category: Category) -> None:
    verdict = judge_mix([part("P-1", category=category), part("P-2", category=category)])

    assert verdict.refusals == (Refusal.CATEGORY,)


def test_row_b_seed_source_with_stand_is_from_a_seed_source() -> None:
    verdict = judge_mix([part("P-1", basic=Basic.STAND), part("P-2", basic=Basic.SEED_SOURCE)])

    assert (verdict.basic, verdict.rules) == (Basic.SEED_SOURCE, (Rule.UNITS, Rule.TYPES, Rule.REGION_CODE))
    assert verdict.needs_certificate


def test_row_b_is_for_source_identified_material_only() -> None:
    selected = {"category": Category.SELECTED}
    verdict = judge_mix([part("P-1", basic=Basic.STAND, **selected), part("P-2", **selected)])

    assert verdict.refusals == (Refusal.TYPES,)


def test_row_b_names_no_other_pair_of_types() -> None:
    verdict = judge_mix([part("P-1", basic=Basic.STAND), part("P-2", basic=Basic.SEED_ORCHARD)])

    assert verdict.refusals == (Refusal.TYPES,)


def test_row_c_non_indigenous_with_unknown_is_of_unknown_origin() -> None:
    verdict = judge_mix([part("P-1", status=Status.NON_INDIGENOUS), part("P-2", status=Status.UNKNOWN)])

    assert (verdict.status, verdict.needs_certificate) == (Status.UNKNOWN, True)
    assert verdict.rules == (Rule.UNITS, Rule.UNKNOWN, Rule.REGION_CODE)


def test_row_e_years_of_one_unit_get_a_new_certificate() -> None:
    verdict = judge_mix([part(year=2025), part(year=2026)])

    assert (verdict.rules, verdict.needs_certificate) == ((Rule.YEARS,), True)


def test_row_e_is_for_one_single_unit_only() -> None:
    assert judge_mix([part("P-1", year=2025), part("P-2", year=2026)]).refusals == (Refusal.YEARS,)


@pytest.mark.parametrize("native", [Status.AUTOCHTHONOUS, Status.INDIGENOUS])
@pytest.mark.parametrize("other", [Status.NON_INDIGENOUS, Status.UNKNOWN])
def test_native_material_is_never_mixed_with_other_or_unknown(native: Status, other: Status) -> None:
    verdict = judge_mix([part("P-1", status=native), part("P-2", status=other)])

    assert verdict.refusals == (Refusal.NATIVE,)
    assert (verdict.rules, verdict.category, verdict.needs_certificate) == ((), None, False)


def test_autochthonous_with_indigenous_is_indigenous() -> None:
    verdict = judge_mix([part("P-1", status=Status.AUTOCHTHONOUS), part("P-2", status=Status.INDIGENOUS)])

    assert verdict.status is Status.INDIGENOUS


def test_one_unit_and_one_year_is_the_same_material() -> None:
    verdict = judge_mix([part(region=""), part(region="")])

    assert (verdict.allowed, verdict.rules, verdict.needs_certificate) == (True, (), False)


def test_nothing_is_no_mixture() -> None:
    assert judge_mix([]).refusals == (Refusal.ONE_LOT,)


@settings(deadline=None)  # the machine may be busy
@given(
    st.lists(
        st.builds(
            Part,
            species=st.just("quercus-suber"),
            unit=st.sampled_from(["P-1", "P-2", "P-3"]),
            region=st.sampled_from(["", "R1", "R2"]),
            year=st.sampled_from([2025, 2026]),
            status=st.sampled_from(list(Status)),
            category=st.sampled_from(list(Category)),
            basic=st.sampled_from(list(Basic)),
        ),
        min_size=1,
        max_size=5,
    )
)
def test_whatever_is_allowed_keeps_the_table(parts: list[Part]) -> None:
    verdict = judge_mix(parts)

    assert judge_mix(parts[::-1]).allowed == verdict.allowed
    if not verdict.allowed:
        return
    native = {one.status in {Status.AUTOCHTHONOUS, Status.INDIGENOUS} for one in parts}
    units, years = {one.unit for one in parts}, {one.year for one in parts}
    assert len(native) == 1
    assert len(units) == 1 or len(years) == 1
    assert len(units) == 1 or len({one.region for one in parts}) == 1
    assert verdict.needs_certificate == (len(units) > 1 or len(years) > 1)


def test_shares_worked_by_hand_through_mix_split_and_mix() -> None:
    # 3 takes 300 of 1 and 100 of 2; 4 is split off 3; 6 takes 100 of 4 and 300 of 5.
    inflows = [(3, 1, 300), (3, 2, 100), (4, 3, 200), (6, 4, 100), (6, 5, 300)]

    assert origin_shares(inflows, 4) == {1: 0.75, 2: 0.25}
    assert origin_shares(inflows, 6) == {1: 0.1875, 2: 0.0625, 5: 0.75}
    assert origin_shares([], 7) == {7: 1.0}


def test_a_long_chain_of_splits_is_still_the_first_lot() -> None:
    assert origin_shares([(n + 1, n, 5) for n in range(5000)], 5000) == {0: 1.0}


@settings(deadline=None)  # the machine may be busy
@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30), st.integers(1, 10**9)), max_size=60))
def test_shares_always_come_to_one(pairs: list[tuple[int, int, int]]) -> None:
    inflows = [(max(a, b), min(a, b), amount) for a, b, amount in pairs if a != b]

    for lot in range(31):
        shares = origin_shares(inflows, lot)
        assert math.isclose(sum(shares.values()), 1.0, rel_tol=1e-12)
        assert min(shares.values()) > 0


def test_figures_of_a_mixture_worked_by_hand() -> None:
    # 300 g at purity 0.9 and TSW 2 g: 270 g pure, 135,000 seeds; 100 g at 0.5 and 5 g: 50 g pure, 10,000 seeds.
    blend = blend_figures(
        [Figures(300_000, 0.9, 2.0, 0.8, 8.0), Figures(100_000, 0.5, 5.0, 0.22, 12.0)],
    )

    assert blend.purity == pytest.approx(0.8)
    assert blend.tsw_g == pytest.approx(320 / 145)
    assert blend.germination == pytest.approx((0.8 * 135 + 0.22 * 10) / 145)
    assert blend.moisture_pct == pytest.approx(9.0)
    assert blend.amount == 400_000


def test_pieces_are_shared_out_by_number() -> None:
    blend = blend_figures([Figures(300, germination=0.5, tsw_g=2.0), Figures(100, germination=0.9, tsw_g=6.0)],
                          counted=True)  # fmt: skip

    assert (blend.germination, blend.tsw_g) == (pytest.approx(0.6), pytest.approx(3.0))


def test_what_is_not_known_of_each_part_is_not_known_of_the_mixture() -> None:
    blend = blend_figures([Figures(300, 0.9, 2.0, 0.8, 8.0), Figures(100)])

    assert blend == Figures(400)
