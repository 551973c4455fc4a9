"""What each act of the ledger asks, warns of, does and tells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from babel.support import LazyProxy

from nursery.i18n import format_percent
from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Lot
from nursery.models.lots import Material
from nursery.models.movements import Measure, Movement, MovementKind
from nursery.services import ledger
from nursery.services.ledger.words import amount_text
from nursery.web.lots.ledger_forms import ActForm
from nursery.web.session import actor, db

#: What was done, told to the person, and the lot whose page comes next.
Done = tuple[str, Lot]

_DUST = _l(
    "Dust and moulds of fruit and chaff harm the lungs: wear a dust mask and work in moving air. Machines that"
    " rub, thresh or blow catch fingers, hair and sleeves: only trained people use them, with the guards on."
)


@dataclass(frozen=True)
class Act:
    """One kind of work on a lot."""

    title: LazyProxy
    lead: LazyProxy
    button: LazyProxy
    fields: tuple[str, ...]
    amount_label: LazyProxy
    run: Callable[[Lot, ActForm], Done]
    caution: LazyProxy | str = ""
    #: Whether cautions of the species are shown: where fruit and seed are handled by hand.
    by_hand: bool = False
    #: Whether the lot can have it done.
    fits: Callable[[Lot], bool] = lambda lot: bool(lot.amount_mg or lot.pieces or lot.fruit_mg)


def _extract(lot: Lot, form: ActForm) -> Done:
    fruit, seed = round((form.fruit.data or 0) * 1_000_000), form.typed_amount()
    gave = ledger.extract_seed(
        db(), actor(), lot=lot, fruit_mg=fruit, seed=seed, **form.circumstances,
    )  # fmt: skip
    told = _(
        "%(fruit)s gave %(seed)s.",
        fruit=amount_text(Measure.FRUIT, fruit),
        seed=amount_text(ledger.seed_measure(lot), seed),
    )
    if gave is None:
        return told, lot
    return told + " " + _("That is an extraction yield of %(share)s.", share=format_percent(gave, 1)), lot


def _clean(lot: Lot, form: ActForm) -> Done:
    row = ledger.clean_lot(
        db(), actor(), lot=lot, left=form.typed_amount(), **form.circumstances,
    )  # fmt: skip
    return _("Cleaning took %(loss)s away.", loss=amount_text(row.measure, -row.change)), lot


def _take(kind: MovementKind) -> Callable[[Lot, ActForm], Done]:
    def run(lot: Lot, form: ActForm) -> Done:
        row = ledger.take_from_lot(
            db(), actor(), lot=lot, kind=kind, measure=form.measure, amount=form.typed_amount(),
            **form.circumstances,
        )  # fmt: skip
        return _left(lot, row), lot

    return run


def _left(lot: Lot, row: Movement) -> str:
    return _("%(amount)s left %(lot)s.", amount=amount_text(row.measure, -row.change), lot=lot.code)


def _split(lot: Lot, form: ActForm) -> Done:
    part = ledger.split_lot(
        db(), actor(), lot=lot, amount=form.typed_amount(), measure=form.measure, code=form.code.data,
        storage_place_id=form.storage_place_id.data, **form.circumstances,
    )  # fmt: skip
    amount = amount_text(form.measure, form.typed_amount())
    return _("%(amount)s of %(lot)s became lot %(part)s.", amount=amount, lot=lot.code, part=part.code), part


def _recount(lot: Lot, form: ActForm) -> Done:
    row = ledger.recount_lot(
        db(), actor(), lot=lot, measure=form.measure, counted=form.typed_amount(), **form.circumstances,
    )  # fmt: skip
    if row is None:
        return _("The count agrees with the ledger; nothing was written."), lot
    amount = amount_text(row.measure, abs(row.change))
    return (
        _("%(amount)s more than the ledger said.", amount=amount)
        if row.change > 0
        else _("%(amount)s less than the ledger said.", amount=amount)
    ), lot


ACTS = {
    "extract": Act(
        _l("Extract seed from fruit"),
        _l("Weigh the fruit that was processed and the clean seed that came out of it. The yield is kept."),
        _l("Write the extraction down"),
        ("fruit", "amount", "unit"),
        _l("Clean seed that came out"),
        _extract,
        _DUST,
        by_hand=True,
        fits=lambda lot: lot.material is Material.SEED and bool(lot.fruit_mg),
    ),
    "clean": Act(
        _l("Clean the seed"),
        _l("Weigh what is left after cleaning; the loss leaves the lot."),
        _l("Write the cleaning down"),
        ("amount", "unit"),
        _l("Clean seed left"),
        _clean,
        _DUST,
        by_hand=True,
        fits=lambda lot: lot.material is Material.SEED and bool(lot.amount_mg or lot.pieces),
    ),
    "sample": Act(
        _l("Take a sample for a test"),
        _l("Seed that goes to a test does not come back."),
        _l("Write the sample down"),
        ("amount", "unit"),
        _l("Taken for the test"),
        _take(MovementKind.SAMPLED),
        fits=lambda lot: bool(lot.amount_mg or lot.pieces),
    ),
    "sow": Act(
        _l("Withdraw for sowing"),
        _l("What leaves the lot to be sown."),
        _l("Write the withdrawal down"),
        ("amount", "unit"),
        _l("Withdrawn"),
        _take(MovementKind.WITHDRAWN),
        _l("Seed may have been treated: read what is written on the bag, and wear gloves if it was."),
        fits=lambda lot: bool(lot.amount_mg or lot.pieces) and not lot.is_held,
    ),
    "split": Act(
        _l("Split the lot"),
        _l(
            "Part of the lot gets a code of its own. It keeps species, population, year, permit and figures, and"
            " the ledger keeps where it came from."
        ),
        _l("Split the lot"),
        ("what", "amount", "unit", "storage_place_id", "code"),
        _l("For the new lot"),
        _split,
    ),
    "give": Act(
        _l("Give seed away"),
        _l("Write down who receives it: the reason must name them."),
        _l("Write the gift down"),
        ("what", "amount", "unit"),
        _l("Given away"),
        _take(MovementKind.GIVEN),
    ),
    "discard": Act(
        _l("Discard"),
        _l("Mouldy, dead or spoilt: write down why."),
        _l("Write it down"),
        ("what", "amount", "unit"),
        _l("Discarded"),
        _take(MovementKind.DISCARDED),
        _l(
            "Mouldy and treated seed is kept from people, animals and water: wear a mask and gloves, and dispose"
            " of it as the label and the local waste rules say."
        ),
        by_hand=True,
    ),
    "recount": Act(
        _l("Recount"),
        _l("Weigh or count again; the difference from the ledger becomes a movement of its own."),
        _l("Write the count down"),
        ("what", "amount", "unit"),
        _l("Found"),
        _recount,
        fits=lambda _lot: True,
    ),
}
