"""From the target to ready plants."""

from __future__ import annotations

from nursery.i18n import format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models.targets import TargetBasis
from nursery.services.planning.lines.explained import Given, Number, rate
from nursery.services.planning.lines.reading import LineView


def wanted(view: LineView) -> Number:
    """What the target asks for; density, area and share are those of the records as they are now."""
    line, target = view.line, view.target
    title = _("Survivors wanted") if line.basis["survival_year"] else _("Plants wanted")
    value = format_number(line.wanted)
    if target.basis != TargetBasis.DENSITY or not target.density_per_ha:
        return Number("wanted", value, title, source=_("Typed in the target."))
    return Number(
        "wanted",
        value,
        title,
        formula=_("Plants per hectare × area × share of the mix, rounded up to a whole plant."),
        inputs=(
            Given(_("Plants per hectare"), format_number(target.density_per_ha, 1), _("The target.")),
            Given(_("Area (ha)"), format_number(target.site.area_ha, 4), target.site.name),
            Given(_("Share of the mix"), format_percent(target.share, 1), _("The target.")),
        ),
        source=_("As recorded now; the plan keeps the number of the day on which it was made."),
    )


def plants_to_plant(view: LineView) -> Number:
    """Plants that leave the nursery."""
    line = view.line
    year = line.basis["survival_year"]
    asked = Given(_("Survivors wanted") if year else _("Plants wanted"), format_number(line.wanted))
    return Number(
        "plants_to_plant",
        format_number(line.plants_to_plant),
        _("Plants to plant"),
        formula=_("Survivors wanted ÷ survival in the field, rounded up.")
        if year
        else _("As many as are wanted: the target counts plants, not survivors."),
        inputs=(asked, rate(view, "field_survival")) if year else (asked,),
    )


def ready_plants(view: LineView) -> Number:
    """Plants ready for dispatch."""
    return Number(
        "ready_plants",
        format_number(view.line.ready_plants),
        _("Ready plants needed"),
        formula=_("Plants to plant ÷ (1 − handling loss), rounded up."),
        inputs=(
            Given(_("Plants to plant"), format_number(view.line.plants_to_plant)),
            rate(view, "handling_loss"),
        ),
    )
