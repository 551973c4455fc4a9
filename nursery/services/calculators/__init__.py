"""Every computation as a small calculator: one registry for page, API and command line."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from nursery.errors import Invalid, NotFound
from nursery.i18n import gettext as _
from nursery.services.calculators.assuring import ASSURANCE
from nursery.services.calculators.calculator import Calculator
from nursery.services.calculators.collecting import COLLECTION, MOTHERS
from nursery.services.calculators.dating import SCHEDULE
from nursery.services.calculators.origin import ORIGIN
from nursery.services.calculators.places import DISTANCE
from nursery.services.calculators.seed import GERMINATION_TEST, MOISTURE, SEED_LOT, SEED_WEIGHT
from nursery.services.calculators.sowing import BED_SOWING, CELL_FILL, SOWING
from nursery.services.calculators.stock import INVENTORY, SURVIVAL
from nursery.services.calculators.storing import STORAGE

CALCULATORS: dict[str, Calculator] = {
    one.name: one
    for one in (
        CELL_FILL,
        SOWING,
        BED_SOWING,
        SEED_LOT,
        SEED_WEIGHT,
        GERMINATION_TEST,
        MOISTURE,
        STORAGE,
        SCHEDULE,
        ASSURANCE,
        MOTHERS,
        DISTANCE,
        COLLECTION,
        INVENTORY,
        SURVIVAL,
        ORIGIN,
    )
}


def find_calculator(name: str) -> Calculator:
    """The calculator of that name, or NotFound with the near names."""
    try:
        return CALCULATORS[name]
    except KeyError:
        near = get_close_matches(name, CALCULATORS, n=1) or list(CALCULATORS)
        raise NotFound(
            _(
                "There is no calculator “%(name)s”. Use one of: %(names)s.",
                name=name[:40],
                names=", ".join(near),
            )
        ) from None


def calculate(name: str, payload: Any) -> dict[str, Any]:
    """Run a calculator on an input as plain JSON values and get plain JSON values.

    NotFound for an unknown name; Invalid with a message for each wrong field.
    """
    calculator = find_calculator(name)
    if not isinstance(payload, Mapping):
        raise Invalid({"input": _("The input is not an object. Give field names and values in braces, as JSON.")})
    return calculator.calculate(payload)
