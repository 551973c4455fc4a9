"""The words of the rules of origin: verdicts, rules, how near a source is, and the strategies of a site."""

from __future__ import annotations

from enum import StrEnum


class Verdict(StrEnum):
    """What the rules say of a lot at a site; the order is from best to worst."""

    PASS = "pass"  # noqa: S105 -- a verdict, no secret
    CAUTION = "caution"
    STOP = "stop"


class Rule(StrEnum):
    """One rule of origin (DESIGN section 4, "Genetic origin")."""

    SPECIES = "species"
    REGION = "region"
    BASIN = "basin"
    ELEVATION = "elevation"
    DISTANCE = "distance"
    TEMPERATURE = "temperature"
    RAIN = "rain"
    FROST = "frost"
    STATUS = "status"
    CATEGORY = "category"
    PERMIT = "permit"
    MOTHERS = "mothers"
    FAMILY = "family"


class Source(StrEnum):
    """How near a source is to a site, for the shares of a strategy.

    Local: the site's own region of provenance and basin. Near: one of the two. Far: neither. Climate: not
    local, and closer to the climate expected at the site than the site's present climate is.
    """

    LOCAL = "local"
    NEAR = "near"
    FAR = "far"
    CLIMATE = "climate"


class StrategyKind(StrEnum):
    """From how far away a site takes its plants, and in which shares."""

    STRICT = "strict"
    REGION = "region"
    ADMIXTURE = "admixture"
    COMPOSITE = "composite"
    CLIMATE = "climate"


class NeedSource(StrEnum):
    """From which source seed is to be collected: one of those of a strategy's shares, or the region as such.

    Region: whatever the rules let serve the site, where its strategy asks for no shares.
    """

    REGION = "region"
    LOCAL = "local"
    NEAR = "near"
    FAR = "far"
    CLIMATE = "climate"


class NeedPurpose(StrEnum):
    """Why seed is to be collected: for plants that are lacking, or only for shares that a strategy asks for."""

    PLANTS = "plants"
    SHARES = "shares"
