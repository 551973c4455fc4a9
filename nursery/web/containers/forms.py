"""The form of a container type."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models import Nursery
from nursery.services.containers import BOUNDS
from nursery.web.fields import NumberField, TextField, WholeNumberField
from nursery.web.forms import Group, RecordForm
from nursery.web.record_fields import RecordSelect


class ContainerForm(RecordForm):
    """One type of tray in one nursery."""

    nursery_id = RecordSelect(_l("Nursery"), model=Nursery, needed=True)
    name = TextField(_l("Name"), most=120, needed=True, description=_l("As the crew calls the tray."))
    cells_per_tray = WholeNumberField(_l("Cells per tray"), bounds=BOUNDS["cells_per_tray"], needed=True)
    cell_volume_cm3 = NumberField(
        _l("Cell volume"), bounds=BOUNDS["cell_volume_cm3"], unit="cm³", digits=2, needed=True
    )
    tray_length_mm = NumberField(_l("Tray length"), bounds=BOUNDS["tray_length_mm"], unit="mm", digits=1)
    tray_width_mm = NumberField(_l("Tray width"), bounds=BOUNDS["tray_width_mm"], unit="mm", digits=1)
    trays_owned = WholeNumberField(
        _l("Trays owned"), bounds=BOUNDS["trays_owned"], description=_l("Left empty, they are not counted.")
    )

    groups = (
        Group(_l("The container"), (("nursery_id",), ("name",), ("cells_per_tray", "cell_volume_cm3"))),
        Group(
            _l("The tray"),
            (("tray_length_mm", "tray_width_mm"), ("trays_owned",)),
            _l("Length and width tell how much bench a tray takes."),
        ),
        Group(_l("More"), (("notes",),)),
    )
