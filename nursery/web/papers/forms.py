"""Forms of papers: what only the person can say, the signature, and seed that is given."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum
from typing import Any

from nursery.i18n import LOCALES, current_locale, language_name
from nursery.i18n import lazy as _l
from nursery.models import Lot, Recipient
from nursery.models.papers import PaperKind
from nursery.services.limits import Bounds
from nursery.services.papers.cases import Stated
from nursery.services.papers.words import DOCUMENTS, PURPOSE_LABELS, Purpose
from nursery.web.choices import OptionalChoiceField, YesNoField
from nursery.web.fields import ChoiceField, DayField, TextField, WholeNumberField
from nursery.web.forms import RecordForm
from nursery.web.lots.ledger_forms import ActForm
from nursery.web.record_fields import RecordSelect
from nursery.web.session import today

Language = StrEnum("Language", {code.upper(): code for code in LOCALES})  # type: ignore[misc]
_NAMES: dict[str, Any] = {code: language_name(code) for code in LOCALES}
#: Fields of the form by the particular that they are for.
_FOR = {
    "purpose": "purpose", "provisional": "is_provisional", "genetically-modified": "is_genetically_modified",
    "populus-class": "populus_class", "packages": "packages", "quantity-per-package": "packages",
    "germination": "is_first_buyer", "passport-pz": "protected_zone", "passport-replaces": "replaces",
}  # fmt: skip


class DrawForm(RecordForm):
    """What no record holds; a paper keeps the fields that it prints."""

    notes = None  # type: ignore[assignment]  # how WTForms drops an inherited field

    language = ChoiceField(_l("Language of the paper"), kind=Language, labels=_NAMES)
    purpose = OptionalChoiceField(
        _l("Purpose"), kind=Purpose, labels=PURPOSE_LABELS, nothing=_l("Choose"),
        description=_l("What the material is meant for."),
    )  # fmt: skip
    packages = WholeNumberField(
        _l("Packages"), bounds=Bounds(1, 500),
        description=_l("Seed travels in sealed packages; each has a label."),
    )  # fmt: skip
    package_type = TextField(_l("Kind of package"), most=80, description=_l("Such as: sealed bags."))
    populus_class = TextField(
        _l("EC classification number"), most=40, description=_l("Asked of poplar cuttings and sets.")
    )
    is_first_buyer = YesNoField(
        _l("Seed of the current harvest, to its first buyer"),
        description=_l("Germination may then follow as soon as it is known."),
    )
    is_provisional = YesNoField(_l("The basic material is provisionally approved"))
    is_genetically_modified = YesNoField(_l("The material is genetically modified"))

    protected_zone = TextField(
        _l("Protected zone for"), most=80,
        description=_l(
            "Only if the load goes into a protected zone: the organisms, by scientific name or EPPO code. The"
            " passport then bears “PZ” and their names."
        ),
    )  # fmt: skip
    replaces = TextField(
        _l("Replaces the passport"), most=400,
        description=_l("Only for plants that came with a passport of somebody else: everything that it says."),
    )  # fmt: skip

    def __init__(self, *arguments: Any, kind: PaperKind, asked: Collection[str], **options: Any) -> None:
        super().__init__(*arguments, data={"language": Language(current_locale())}, **options)
        kept = {"language", *(_FOR[field] for field in asked if field in _FOR)}
        if "packages" in kept and kind in DOCUMENTS:
            kept.add("package_type")
        for name in [name for name in self._fields if name not in kept]:
            del self[name]

    @property
    def stated(self) -> Stated:
        """What the person said."""
        said = {name: field.data for name, field in self._fields.items() if name != "language"}
        return Stated(**{name: value for name, value in said.items() if value is not None})

    def asked(self) -> Sequence[Any]:
        """The fields in order."""
        return list(self._fields.values())


class SignForm(RecordForm):
    """Who checked the paper and signs it, and when."""

    notes = None  # type: ignore[assignment]

    signed_by = TextField(_l("Checked and signed by"), most=80, needed=True)
    signed_on = DayField(_l("Signed on"), needed=True)

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, data={"signed_on": today()}, **options)
        del self["version"]


class RulingForm(RecordForm):
    """Which authority ruled that a planting is not for forestry, and when."""

    notes = None  # type: ignore[assignment]

    reason = TextField(
        _l("Authority and letter"), most=400, needed=True,
        description=_l("Such as: regional forest service, letter 114 of 3 March. It is shown wherever it counts."),
    )  # fmt: skip
    ruled_on = DayField(_l("Day of the ruling"), needed=True)


class RulingWithdrawalForm(RecordForm):
    """Why a ruling does not hold any more."""

    notes = None  # type: ignore[assignment]

    reason = TextField(_l("Why it does not hold any more"), most=400, needed=True)


class GiveForm(ActForm):
    """Seed that goes to a recipient."""

    recipient_id = RecordSelect(_l("Recipient"), model=Recipient, needed=True)

    def __init__(self, *arguments: Any, lot: Lot, **options: Any) -> None:
        super().__init__(*arguments, lot=lot, names=("recipient_id", "amount", "unit"), **options)
        self.reason.label.text = str(_l("Remark"))

    def asked(self) -> list[Any]:
        """The recipient first."""
        return sorted(super().asked(), key=lambda one: one.name != "recipient_id")
