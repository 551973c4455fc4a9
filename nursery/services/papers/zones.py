"""Plants that go into certain protected zones only with a passport that says so."""

from __future__ import annotations

from nursery.catalog.law_words import BASIS_LABELS
from nursery.i18n import gettext as _
from nursery.services.papers.consignments import Consignment


def zone_note(consignment: Consignment) -> str:
    """Which of the plants these are, and what to do; empty where there are none."""
    found = [
        (part.species.scientific_name, host)
        for part in consignment.parts
        if (part.lines or part.is_cuttings)
        and (host := consignment.law.zone_host(part.names, consignment.country, consignment.day)) is not None
    ]
    if not found:
        return ""
    told = _(
        "%(species)s go into certain protected zones only with a passport that bears “PZ” and the organism’s name,"
        " to final users too. Ask the plant-health service whether the site lies in one.",
        species=", ".join(dict.fromkeys(name for name, _host in found)),
    )
    sources = dict.fromkeys(f"{host.where}: {BASIS_LABELS[host.basis]}" for _name, host in found)
    return f"{told} ({'; '.join(sources)})"
