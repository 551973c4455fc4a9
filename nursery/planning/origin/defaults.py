"""The rules of origin that every nursery starts with, as data. A nursery changes them by a new version of its set.

Numeric rules hold ``caution`` and ``stop`` (None: no such limit): a value beyond the limit, not one on it,
counts. Yes-or-no rules hold ``differs``. All hold ``unknown``, the verdict where a fact is missing, ``basis`` and
``text``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def N_(text: str) -> str:  # noqa: N802 -- the usual name of the mark for translators
    """Mark a text for translation; who shows it translates it."""
    return text


_LAW = N_("Regions of provenance, per species: RD 289/2003 art. 2 and Annex II, after Directive 1999/105/EC.")
_OWN = N_("Planning default, own convention, no source; not law.")
_MEMORY = N_("Planning default, from memory; not law.")

DEFAULT_RULES: Mapping[str, Mapping[str, Any]] = {
    "species": {
        "differs": "stop",
        "unknown": "stop",
        "basis": N_("Common practice, no source."),
        "text": N_("The lot is of the species wanted."),
    },
    "region": {
        "differs": "stop",
        "unknown": "stop",
        "basis": _LAW,
        "text": N_(
            "The lot comes from the site's own region of provenance. Where the site has no region, its river basin"
            " stands in its place."
        ),
    },
    "basin": {
        "differs": "caution",
        "unknown": "pass",
        "basis": N_("Common practice for plants of river banks, no source; not law."),
        "text": N_("The lot comes from the site's own river basin."),
    },
    "elevation": {
        "caution": 150.0,
        "stop": 300.0,
        "unknown": "caution",
        "basis": N_(
            "Planning default, not law. Beside it: two bands split at 300 m in Great Britain; 244 m bands in"
            " examples of the US Forest Service."
        ),
        "text": N_("Metres between the lot's elevation and the site's, up or down."),
    },
    "distance": {
        "caution": 50.0,
        "stop": 150.0,
        "unknown": "caution",
        "basis": _MEMORY,
        "text": N_(
            "Kilometres from stand to site. Judged only where a region of provenance is not known on both sides."
        ),
    },
    "temperature": {
        "caution": 1.5,
        "stop": None,
        "unknown": "pass",
        "basis": _MEMORY,
        "text": N_("Degrees between the mean annual temperatures of stand and site."),
    },
    "rain": {
        "caution": 0.25,
        "stop": None,
        "unknown": "pass",
        "basis": _MEMORY,
        "text": N_("Difference of the annual rain of stand and site, as a share of the site's."),
    },
    "frost": {
        "caution": 3.0,
        "stop": None,
        "unknown": "pass",
        "basis": _OWN,
        "text": N_("Degrees by which the coldest month's minimum is milder at the stand than at the site."),
    },
    "status": {
        "differs": "stop",
        "unknown": "stop",
        "basis": N_(
            "Indigenous status as in RD 289/2003 art. 2; that a site takes native material only is its own."
        ),
        "text": N_("A site that takes native material only gets nothing non-indigenous or of unknown status."),
    },
    "category": {
        "differs": "stop",
        "unknown": "caution",
        "basis": N_("Categories of RD 289/2003 art. 2; the lowest category accepted is the site's own."),
        "text": N_("The lot's category is at least the lowest that the site takes."),
    },
    "permit": {
        "differs": "stop",
        "unknown": "pass",
        "basis": N_("Common practice, no source: nothing is planted that no collecting permit covers."),
        "text": N_("The lot is not held for want of a collecting permit."),
    },
    "mothers": {
        "caution": 30.0,
        "stop": 15.0,
        "unknown": "caution",
        "basis": N_(
            "At least 30 individuals: NordGen quality-assurance appendix, TemaNord 2025:515. Below 15 is less than"
            " the 15–50 trees held adequate for ash: USFS National Seed Laboratory 2008."
        ),
        "text": N_("Effective mothers of the lot, 1 ÷ sum of squared shares: at least so many."),
    },
    "family": {
        "caution": 0.1,
        "stop": None,
        "unknown": "pass",
        "basis": _MEMORY,
        "text": N_("Share of the largest mother's family in the lot."),
    },
}
