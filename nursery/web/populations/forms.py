"""The form of a population."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models.places import IndigenousStatus
from nursery.planning.mixing import Basic, Category
from nursery.services import limits
from nursery.services.origin.words import BASIC_LABELS, CATEGORY_LABELS
from nursery.services.populations import STATUS_LABELS
from nursery.web.choices import YesNoField
from nursery.web.coordinates import CoordinateFields
from nursery.web.country_field import CountryField
from nursery.web.fields import ChoiceField, NumberField, SpeciesField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm


class PopulationForm(CoordinateFields, RecordForm):
    """One stand of one species."""

    code = TextField(_l("Code"), most=24, description=_l("Left empty, the next running code is given."))
    name = TextField(_l("Name"), most=120, needed=True, description=_l("As the crew calls the place."))
    species_id = SpeciesField(
        _l("Species"), needed=True, description=_l("Scientific name, synonym or common name.")
    )
    basin = TextField(_l("Basin"), most=80, description=_l("Left empty, the map fills it in where it knows."))
    region_code = TextField(
        _l("Region of provenance"),
        most=24,
        description=_l("The code as the authority writes it. Left empty, the map fills it in where it knows."),
    )
    elevation_m = NumberField(_l("Elevation"), bounds=limits.ELEVATION_M, unit="m")
    indigenous_status = ChoiceField(
        _l("Origin"), kind=IndigenousStatus, labels=STATUS_LABELS, default=IndigenousStatus.UNKNOWN
    )
    category = ChoiceField(
        _l("Category"), kind=Category, labels=CATEGORY_LABELS, default=Category.SOURCE_IDENTIFIED
    )
    basic_material = ChoiceField(
        _l("Basic material"),
        kind=Basic,
        labels=BASIC_LABELS,
        default=Basic.SEED_SOURCE,
        description=_l("As the stand is approved; a wild stand that is not is a seed source."),
    )
    register_reference = TextField(
        _l("Register reference"),
        most=40,
        description=_l(
            "Of the approved unit in the national register, as the authority writes it. Papers print it."
        ),
    )
    country = CountryField(
        _l("Country"),
        description=_l("Two letters, such as PT. Left empty, it is the nursery’s own."),
        render_kw={"maxlength": 2},
    )
    is_sensitive = YesNoField(
        _l("The place is sensitive"),
        description=_l(
            "It is rounded in whatever leaves the house as data: a rare plant, or an owner who asks for it."
        ),
    )
    fruiting_plants = WholeNumberField(
        _l("Fruiting plants"), bounds=limits.FRUITING_PLANTS, description=_l("How many bear seed in a good year.")
    )

    groups = (
        Group(
            _l("What grows here"),
            (
                ("species_id",),
                ("name", "code"),
                ("indigenous_status", "fruiting_plants"),
                ("category", "basic_material"),
            ),
        ),
        Group(
            _l("Where it grows"),
            (
                ("latitude", "longitude"),
                ("elevation_m",),
                ("basin", "region_code"),
                ("register_reference", "country"),
                ("is_sensitive",),
            ),
        ),
        Group(_l("More"), (("notes",),)),
    )
