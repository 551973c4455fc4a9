"""What the law asks of seed: purity, germination, weight, seeds in a kilogram, and when they need not be known."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Lot, SeedTest
from nursery.models.seed_tests import TestKind
from nursery.services.papers.cases import Case, Found, given, wanting
from nursery.services.papers.supply import grams

#: Seed of the current harvest is no older than this (our reading; the Directive names no number of days).
_HARVEST = dt.timedelta(days=365)
#: A store is cold up to this temperature: common practice, no source.
_COLD_C = 10.0
_VIABILITY = (TestKind.TETRAZOLIUM, TestKind.CUT)


@dataclass(frozen=True)
class _Alive:
    """How much of the seed lives, how that was found, and when."""

    share: float
    by: TestKind | None
    day: dt.date | None


def purity(case: Case) -> Found:
    """The three shares by weight of the newest purity test."""
    test = _newest(case, TestKind.PURITY)
    if test is None:
        return _test_wanted(case, _("No purity test with its three weights is on record."), TestKind.PURITY)
    pure, other, inert = (float(test.readings[name]) for name in ("pure_g", "other_g", "inert_g"))
    whole = pure + other + inert
    return given(
        _(
            "pure seed %(pure)s, other seed %(other)s, inert matter %(inert)s",
            pure=format_percent(pure / whole, 1),
            other=format_percent(other / whole, 1),
            inert=format_percent(inert / whole, 1),
        )
    )


def germination(case: Case) -> Found:
    """Germination, or viability with its method; or why it need not be known."""
    if waived := waiver(case):
        return given(waived)
    alive = _alive(case)
    if alive is None:
        return _test_wanted(case, _("No test of germination or viability is on record."), TestKind.GERMINATION)
    share = format_percent(alive.share, 1)
    if alive.by is TestKind.TETRAZOLIUM:
        return given(_("viability %(share)s, tetrazolium test", share=share))
    if alive.by is TestKind.CUT:
        return given(_("viability %(share)s, cutting test", share=share))
    return given(_("germination %(share)s", share=share))


def thousand_seed_weight(case: Case) -> Found:
    """Of the newest test, else as written down."""
    weight = _weight(case)
    if weight is None:
        return _test_wanted(case, _("The weight of 1,000 seeds is not on record."), TestKind.WEIGHT)
    return given(_("%(grams)s g", grams=format_number(weight, 3)))


def germinable_per_kg(case: Case) -> Found:
    """Whole seeds that can germinate in a kilogram of the product."""
    if waived := waiver(case):
        return given(waived)
    alive, weight, test = _alive(case), _weight(case), _newest(case, TestKind.PURITY)
    if alive is None or weight is None or test is None:
        return _test_wanted(
            case,
            _("It follows from purity, germination and weight, which are not all on record."),
            TestKind.PURITY,
        )
    pure = test.result
    seeds = math.floor(1_000_000 / weight * pure * alive.share + 1e-9)
    return given(format_number(seeds))


def analysis_date(case: Case) -> Found:
    """The day of the newest test that the paper rests on."""
    days = [test.tested_on for test in case.tests]
    days += [lot.tested_on for lot in case.its_part.lots if lot.tested_on]
    if not days:
        return _test_wanted(case, _("No test is on record."), TestKind.PURITY)
    return given(format_date(max(days)))


def cold_store(case: Case) -> Found:
    """Whether it was kept cold."""
    lot = _lot(case)
    place = lot.storage_place
    if place is None or place.temperature_c is None:
        told = _("The temperature of the place where lot %(lot)s is kept is not known.", lot=lot.code)
        if place is None:
            return wanting(told, "lots.edit", record_id=lot.id, _anchor="storage_place_id")
        return wanting(told, "storage.edit", record_id=place.id, _anchor="temperature_c")
    answer = _("yes") if place.temperature_c <= _COLD_C else _("no")
    return given(f"{answer}, {format_number(place.temperature_c, 1)} °C")


def waiver(case: Case) -> str:
    """Why germination need not be known for this seed, as a sentence for the paper; else empty."""
    lot, weight = _lot(case), grams(case)
    little = case.consignment.law.small_quantity(
        case.its_part.names, case.consignment.country, case.consignment.day
    )
    if weight is not None and little is not None and weight <= little.grams:
        return _(
            "not asked for: small quantity, %(grams)s g or less of this species",
            grams=format_number(little.grams),
        )
    if case.stated.is_first_buyer and case.consignment.day - lot.collected_on <= _HARVEST and not _alive(case):
        return _("seed of the current harvest to its first buyer: told as soon as it is known")
    return ""


def waiver_warning(case: Case) -> str:
    """What is to be said of a limit that was recalled and not read; empty where it was read, or none is used."""
    law, weight = case.consignment.law, grams(case)
    if case.part is None or weight is None:
        return ""
    little = law.small_quantity(case.part.names, case.consignment.country, case.consignment.day)
    if little is None or weight > little.grams or little.basis != "memory":
        return ""
    return _(
        "That %(grams)s g count as a small quantity of this species is from memory (Regulation (EC) 2301/2002)."
        " Check the limit with your authority before you leave germination out.",
        grams=format_number(little.grams),
    )


def _alive(case: Case) -> _Alive | None:
    test = _newest(case, TestKind.GERMINATION)
    if test is None:
        found = [test for kind in _VIABILITY if (test := _newest(case, kind))]
        test = found[0] if found else None
    if test is not None:
        return _Alive(test.result, test.kind, test.tested_on)
    lot = _lot(case)
    return None if lot.germination is None else _Alive(lot.germination, None, lot.tested_on)


def _weight(case: Case) -> float | None:
    test = _newest(case, TestKind.WEIGHT)
    return test.result if test is not None else _lot(case).tsw_g


def _newest(case: Case, kind: TestKind) -> SeedTest | None:
    return next((test for test in case.tests if test.kind is kind), None)


def _lot(case: Case) -> Lot:
    return case.its_part.lots[0]


def _test_wanted(case: Case, told: str, kind: TestKind) -> Found:
    return wanting(told, "lots.new_test", record_id=_lot(case).id, kind=kind.value)
