"""The form of a target, which says what it understood."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import url_for
from markupsafe import Markup

from nursery.i18n import gettext as _
from nursery.i18n import lazy as _l
from nursery.models import Site
from nursery.models.targets import TargetBasis
from nursery.services.targets import Wanted, find_twin, wanted_of
from nursery.services.targets.checking import BOUNDS
from nursery.services.targets.listing import BASIS_LABELS
from nursery.web.fields import ChoiceField, DayField, FractionField, NumberField, SpeciesField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordField
from nursery.web.session import db
from nursery.web.targets.fields import ContainerSelect, FunderField, ProtocolField, SeasonField, SurvivalYearField


class TargetForm(RecordForm):
    """Site, species, season, and how many."""

    #: The target that is changed.
    row_id: int | None = None

    site_id = RecordField(
        _l("Planting site"), model=Site, needed=True, description=_l("Code or name of the site.")
    )
    species_id = SpeciesField(
        _l("Species"), needed=True, description=_l("Scientific name, synonym or common name.")
    )
    season = SeasonField(
        _l("Season"), needed=True, description=_l("The planting winter, such as 2027/28, or its first year.")
    )
    basis = ChoiceField(_l("Given as"), kind=TargetBasis, labels=BASIS_LABELS, default=TargetBasis.PLANTS)
    plants = WholeNumberField(
        _l("Plants"),
        bounds=BOUNDS["plants"],
        description=_l("Plants to plant; for survivors, how many should be alive."),
    )
    survival_year = SurvivalYearField(_l("Alive after"), description=_l("Only for survivors."))
    density_per_ha = NumberField(
        _l("Plants per hectare"),
        bounds=BOUNDS["density_per_ha"],
        digits=2,
        description=_l("Of all species together."),
    )
    share = FractionField(
        _l("Share of the mix"), bounds=BOUNDS["share"], description=_l("Of this species: 20 %, 20 or 0.2.")
    )
    protocol = ProtocolField(
        _l("Protocol"), description=_l("The species’ protocols are listed once the species is known.")
    )
    container_id = ContainerSelect(_l("Container"))
    seeds_per_cell = WholeNumberField(
        _l("Seeds per cell"), bounds=BOUNDS["seeds_per_cell"], description=_l("Left empty, the plan chooses.")
    )
    assurance = FractionField(
        _l("Assurance"),
        bounds=BOUNDS["assurance"],
        description=_l(
            "The chance asked for that the plants will be there, such as 80 %. Left empty, the nursery’s own."
        ),
    )
    plant_on = DayField(_l("Planting day"), description=_l("Left empty, the day the site’s window opens."))
    funder = FunderField(_l("Funder"), most=120, description=_l("Who pays for it; costs are told by funder too."))
    priority = WholeNumberField(
        _l("Priority"), bounds=BOUNDS["priority"], needed=True, description=_l("1 to 5; 1 is served first.")
    )

    groups = (
        Group(_l("What is wanted where"), (("site_id", "species_id"), ("season",))),
        Group(
            _l("How many"),
            (("basis",), ("plants", "survival_year"), ("density_per_ha", "share")),
            _l("Only what belongs to the chosen way counts; the rest is left out."),
        ),
        Group(
            _l("How it is grown"),
            (("protocol", "container_id"), ("seeds_per_cell", "assurance")),
            _l("All of it may be left to the plan."),
        ),
        Group(_l("When, and before whom"), (("plant_on", "priority"), ("funder",), ("notes",))),
    )

    def process(self, *arguments: Any, **options: Any) -> None:
        """Read the form, then offer the protocols of the species it names."""
        super().process(*arguments, **options)
        row = options.get("obj") or (arguments[1] if len(arguments) > 1 else None)
        self.row_id = row.id if row is not None else None
        self.protocol.offer(self.species_id.data)

    def refuse(self, errors: Mapping[str, str]) -> None:
        """A target that is there already is linked."""
        others = {name: told for name, told in errors.items() if name}
        super().refuse(others)
        if told := errors.get(""):
            twin = find_twin(db(), self.values(), row_id=self.row_id)
            link = Markup(' <a href="{}">{}</a>').format(
                url_for("targets.detail", record_id=twin), _("Open the existing target.")
            )
            self.form_errors.append(Markup("{}{}").format(told, link))

    def wanted(self) -> Wanted | None:
        """What the form wants so far, in whole plants and in words."""
        site = db().get(Site, self.site_id.data) if self.site_id.data else None
        return wanted_of(self.values(), site.area_ha if site else None)
