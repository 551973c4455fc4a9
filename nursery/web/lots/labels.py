"""Words for what stands on bags."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models.bags import Sex

SEX_LABELS = {Sex.FEMALE: _l("Female"), Sex.MALE: _l("Male")}
