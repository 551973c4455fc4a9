"""The forms of seed tests, one for each kind; readings are typed as they stand in the lab book."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, ClassVar

from wtforms import BooleanField

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models.seed_tests import TestKind
from nursery.services.interface.asking import GERMINATION, REPLICATES, SEEDS, bounds_of, by_name, longest_of
from nursery.services.limits import Bounds
from nursery.services.understanding import parse_number
from nursery.web.fields import DayField, NumberField, TextField, TypedField, WholeNumberField, plain_number
from nursery.web.forms import Group, RecordForm

GRAMS = Bounds(0, 100_000)
_MOST = REPLICATES
_GERMINATION = by_name(GERMINATION)


#: A comma parts numbers only before a blank: ``91,5`` may be a decimal or two counts, and is never guessed.
_PARTED = re.compile(r"[\s;]+|,(?=\s)")


class NumbersField(TypedField):
    """Several numbers in one line, parted by blanks or semicolons; ``whole`` ones are counts, in digits alone."""

    def __init__(self, label: Any = None, *, whole: bool = False, **options: Any) -> None:
        keypad = {"autocomplete": "off", "spellcheck": "false"}
        super().__init__(label, render_kw=keypad, **options)
        self.whole = whole

    def parse(self, text: str) -> Any:
        """The numbers."""
        parts = [part.rstrip(",") for part in _PARTED.split(text) if part.strip(",")]
        if len(parts) > _MOST:
            raise ValueError(_("At most %(most)s numbers fit.", most=_MOST))
        if self.whole:
            return [_count(part) for part in parts]
        return [parse_number(part) for part in parts]

    def write(self, value: Any) -> str:
        """Parted by blanks."""
        return " ".join(plain_number(number, 6) for number in value)


def _count(text: str) -> int:
    if re.fullmatch(r"[0-9]{1,9}", text):
        return int(text)
    raise ValueError(
        _(
            "“%(text)s” is no count. Type one whole number for each replicate, parted by blanks or semicolons,"
            " such as 91 95 88 90.",
            text=text if len(text) <= 40 else text[:39] + "…",
        )
    )


class TestForm(RecordForm):
    """What every test has."""

    __test__ = False  # the name is the trade's; pytest need not collect it

    tested_on = DayField(_GERMINATION["tested_on"].label, needed=True)
    taken = NumberField(
        _GERMINATION["taken"].label,
        bounds=bounds_of(_GERMINATION["taken"]),
        description=_l("It leaves the lot through the ledger. Leave it empty if it was written down already."),
    )

    def readings(self) -> dict[str, Any]:
        """Raw counts or weights, as the service takes them; each kind adds its own."""
        return {}

    def more(self) -> dict[str, Any]:
        """Further arguments of the service."""
        return {"notes": self.notes.data or ""}

    def field_of(self, column: str) -> str:
        """The ledger speaks of an amount and a day of its own."""
        names = {"amount": "taken", "happened_on": "tested_on"}
        return names.get(column) or super().field_of(column)


_LAST = (Group(_l("More"), (("tested_on", "taken"), ("notes",))),)


class CountForm(TestForm):
    """Viability by cutting or staining."""

    counts = NumbersField(
        _l("Sound or stained seeds in each replicate"),
        whole=True,
        needed=True,
        description=_l("One count a replicate, parted by blanks or semicolons: 45 47. One sample is taken too."),
    )
    seeds = WholeNumberField(_l("Seeds in each replicate"), bounds=SEEDS, needed=True)

    groups: ClassVar[Sequence[Group]] = (Group(_l("What was counted"), (("counts", "seeds"),)), *_LAST)

    def readings(self) -> dict[str, Any]:
        """Counts and seeds."""
        return {"counts": self.counts.data, "seeds": self.seeds.data}


class GerminationForm(CountForm):
    """Seeds germinated, with how they were kept."""

    counts = NumbersField(
        _GERMINATION["counts"].label,
        whole=True,
        needed=True,
        description=_GERMINATION["counts"].help,
    )
    days = WholeNumberField(_GERMINATION["days"].label, bounds=bounds_of(_GERMINATION["days"]))
    regime = TextField(
        _GERMINATION["regime"].label,
        most=longest_of(_GERMINATION["regime"]),
        description=_GERMINATION["regime"].help,
    )
    pretreatment = TextField(
        _GERMINATION["pretreatment"].label,
        most=longest_of(_GERMINATION["pretreatment"]),
        description=_GERMINATION["pretreatment"].help,
    )

    groups = (
        Group(_l("What was counted"), (("counts", "seeds"),)),
        Group(_l("How it was done"), (("days", "regime"), ("pretreatment",))),
        *_LAST,
    )

    def more(self) -> dict[str, Any]:
        """With how the seeds were kept."""
        return {
            **super().more(),
            "days": self.days.data,
            "regime": self.regime.data or "",
            "pretreatment": self.pretreatment.data or "",
        }


class PurityForm(TestForm):
    """A sample parted by hand."""

    pure_g = NumberField(_l("Pure seed"), bounds=GRAMS, unit="g", needed=True)
    other_g = NumberField(_l("Other seeds"), bounds=GRAMS, unit="g", needed=True)
    inert_g = NumberField(_l("Inert matter"), bounds=GRAMS, unit="g", needed=True)
    sample_g = NumberField(
        _l("Sample before it was parted"),
        bounds=Bounds(0, 100_000, above=True),
        unit="g",
        description=_l("Given, it shows whether anything was lost on the way."),
    )

    groups = (Group(_l("What was weighed"), (("pure_g", "other_g", "inert_g"), ("sample_g",))), *_LAST)

    def readings(self) -> dict[str, Any]:
        """The three parts, and the whole where it was weighed."""
        parts = {name: self[name].data for name in ("pure_g", "other_g", "inert_g")}
        return parts if self.sample_g.data is None else {**parts, "sample_g": self.sample_g.data}


class WeightForm(TestForm):
    """Eight replicates on the balance, or sixteen."""

    weights_g = NumbersField(
        _l("Weight of each replicate"),
        needed=True,
        description=_l("In grams, parted by blanks: eight, or all sixteen where the first eight were refused."),
    )
    seeds = WholeNumberField(_l("Seeds in each replicate"), bounds=SEEDS, needed=True)
    chaffy = BooleanField(_l("Chaffy seed"), description=_l("It clings together, so its weights may vary more."))

    groups = (Group(_l("What was weighed"), (("weights_g", "seeds"), ("chaffy",))), *_LAST)

    def readings(self) -> dict[str, Any]:
        """Weights and seeds."""
        return {"weights_g": self.weights_g.data, "seeds": self.seeds.data, "chaffy": self.chaffy.data}


class MoistureForm(TestForm):
    """Weights of containers before and after the oven."""

    empty_1 = NumberField(_l("First container, empty"), bounds=GRAMS, unit="g", needed=True)
    fresh_1 = NumberField(_l("with fresh seed"), bounds=GRAMS, unit="g", needed=True)
    dry_1 = NumberField(_l("after the oven"), bounds=GRAMS, unit="g", needed=True)
    empty_2 = NumberField(_l("Second container, empty"), bounds=GRAMS, unit="g")
    fresh_2 = NumberField(_l("with fresh seed"), bounds=GRAMS, unit="g")
    dry_2 = NumberField(_l("after the oven"), bounds=GRAMS, unit="g")

    groups = (
        Group(
            _l("What was weighed"),
            (("empty_1", "fresh_1", "dry_1"), ("empty_2", "fresh_2", "dry_2")),
            hint=_l(
                "Usually two samples for 17 hours at 103 °C (seed testing rules, from memory). An oven burns:"
                " follow its instructions and your local rules."
            ),
        ),
        *_LAST,
    )

    def readings(self) -> dict[str, Any]:
        """One or two samples."""
        samples = [[self[f"{part}_{number}"].data for part in ("empty", "fresh", "dry")] for number in (1, 2)]
        return {"samples": samples if self._second() else samples[:1]}

    def _second(self) -> bool:
        return any(self[f"{part}_2"].data is not None for part in ("empty", "fresh", "dry"))

    def validate(self, *arguments: Any, **options: Any) -> bool:
        """A second sample is weighed three times or not at all."""
        sound = bool(super().validate(*arguments, **options))
        if not self._second():
            return sound
        lacking = [field for part in ("empty", "fresh", "dry") if (field := self[f"{part}_2"]).data is None]
        for field in lacking:
            field.errors = [*field.errors, _("Give all three weights of the second sample, or none.")]
        return sound and not lacking


FORMS: dict[TestKind, type[TestForm]] = {
    TestKind.GERMINATION: GerminationForm,
    TestKind.TETRAZOLIUM: CountForm,
    TestKind.CUT: CountForm,
    TestKind.PURITY: PurityForm,
    TestKind.WEIGHT: WeightForm,
    TestKind.MOISTURE: MoistureForm,
}
