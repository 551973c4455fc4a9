"""Words of plant health."""

from __future__ import annotations

from nursery.i18n import lazy as _l
from nursery.models.health import Finding

FINDINGS = {
    Finding.NOTHING: _l("Nothing unusual"),
    Finding.PEST: _l("Pest"),
    Finding.DISEASE: _l("Disease"),
    Finding.DISORDER: _l("Disorder: drought, frost, burn, hunger"),
    Finding.WEEDS: _l("Weeds, moss, algae"),
    Finding.ANIMALS: _l("Mice, birds, slugs, game"),
    Finding.SUSPECTED_NOTIFIABLE: _l("Suspected notifiable organism"),
}
#: A finding that is no reason to worry goes without a tone of its own.
TONES = {
    Finding.NOTHING: "ok",
    Finding.PEST: "caution",
    Finding.DISEASE: "caution",
    Finding.DISORDER: "caution",
    Finding.WEEDS: "info",
    Finding.ANIMALS: "info",
    Finding.SUSPECTED_NOTIFIABLE: "stop",
}
