"""Looking at a zone file before anything is written: what each feature would become, and what is wrong where."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from nursery.errors import Invalid
from nursery.i18n import format_number
from nursery.i18n import gettext as _
from nursery.models import Upload
from nursery.planning.areas import area_of, ground_area
from nursery.services import limits
from nursery.services.coordinates import Area, known_area
from nursery.services.outlines import (
    Feature,
    OutlineError,
    Part,
    as_geometry,
    count_points,
    features_of,
    read_json,
    read_parts,
    refuse_projected,
    refuse_swapped_near,
)
from nursery.services.understanding import parse_number
from nursery.services.zones.changing import refuse_code, refuse_limits, taken_codes
from nursery.services.zones.counting import count_places
from nursery.services.zones.settings import Property, ZoneSettings, plain_text, properties_of, settle

#: An official region is drawn with thousands of points; a file of more than these is better simplified.
MOST_POINTS = 100_000
MOST_FEATURES = 2000
LONGEST_NAME = 120


@dataclass(slots=True)
class LookRow:
    """One feature: what it would become, and what is wrong with it."""

    number: int
    code: str
    name: str
    lowest_m: float | None = None
    highest_m: float | None = None
    geometry: dict[str, Any] | None = None
    points: int = 0
    area_km2: float = 0.0
    populations: int = 0
    sites: int = 0
    #: The ring, empty where no one ring is at fault, and what is wrong, with its remedy.
    problems: list[tuple[str, str]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class ZoneLook:
    """Everything a person sees before saying yes."""

    settings: ZoneSettings
    properties: Sequence[Property]
    rows: Sequence[LookRow]
    #: What is wrong with the file or the choices as a whole.
    problems: Sequence[str]
    #: Ids of the zones on the map that would make room.
    replaced: Sequence[int]

    @property
    def is_sound(self) -> bool:
        """Whether it can be written."""
        return bool(self.rows) and not self.problems and not any(row.problems for row in self.rows)

    @property
    def fingerprint(self) -> str:
        """Names this very outcome, so that only what a person saw can be confirmed."""
        told = [(row.number, row.code, row.name, row.lowest_m, row.highest_m, row.points) for row in self.rows]
        return hashlib.sha256(repr((self.settings, told, list(self.replaced))).encode()).hexdigest()


def look_at_file(session: Session, upload: Upload, asked: Mapping[str, Any]) -> ZoneLook:
    """What writing the file would do; ``asked`` holds the choices made, the rest is guessed."""
    found = read_json(upload.content.decode("utf-8-sig"))
    features = features_of(found)
    settings = settle(asked, features)
    problems = _refuse_file(found, features)
    rows: list[LookRow] = []
    if not problems:
        area = known_area(session)
        rows = [_row(feature, settings, area) for feature in features]
        problems += _refuse_settings(settings)
    taken = {code: zone_id for zone_id, code in taken_codes(
        session, settings.kind, settings.species_id, settings.jurisdiction
    )}  # fmt: skip
    _refuse_duplicates(rows, settings, taken)
    count_places(session, settings, rows)
    replaced = sorted(taken[row.code] for row in rows if row.code in taken) if settings.replaces else []
    return ZoneLook(settings, properties_of(features), rows, problems, replaced)


def _refuse_file(found: Any, features: Sequence[Feature]) -> list[str]:
    try:
        refuse_projected(found)
    except OutlineError as bad:
        return [bad.message]
    if len(features) > MOST_FEATURES:
        return [
            _(
                "The file has %(features)s features; at most %(most)s fit. Split it.",
                features=format_number(len(features)),
                most=format_number(MOST_FEATURES),
            )
        ]
    return []


def _refuse_settings(settings: ZoneSettings) -> list[str]:
    wrong = []
    if not settings.code:
        wrong.append(_("Choose the property that holds the code: each zone needs a code of its own."))
    if not settings.source:
        wrong.append(_("Write down where the outlines were published, and when."))
    return wrong


def _row(feature: Feature, settings: ZoneSettings, area: Area | None) -> LookRow:
    texts = {key: plain_text(feature.properties.get(key)) or "" for key in (settings.code, settings.name) if key}
    row = LookRow(feature.number, texts.get(settings.code, ""), texts.get(settings.name, ""))
    _read_outline(row, feature, area)
    if settings.code and not row.code:
        row.problems.append(("", _("The property “%(key)s” is empty here.", key=settings.code)))
    if (wrong := refuse_code(settings.kind, row.code)) is not None:
        row.problems.append(("", wrong))
    if len(row.name) > LONGEST_NAME:
        row.name = f"{row.name[: LONGEST_NAME - 1]}…"
    row.lowest_m, row.highest_m = (_limit(row, feature, key) for key in (settings.lowest, settings.highest))
    row.problems += [("", message) for message in refuse_limits(row.lowest_m, row.highest_m).values()]
    return row


def _read_outline(row: LookRow, feature: Feature, area: Area | None) -> None:
    try:
        parts = _parts(feature, area)
    except OutlineError as bad:
        row.problems.append((bad.ring, bad.message))
        return
    row.geometry, row.points = as_geometry(parts), count_points(parts)
    row.area_km2 = ground_area(area_of(row.geometry)) / 1e6


def _parts(feature: Feature, area: Area | None) -> list[Part]:
    parts = read_parts(feature.geometry)
    if not parts:
        raise OutlineError(_("The feature has no outline. Draw one, or leave the feature out of the file."))
    if (points := count_points(parts)) > MOST_POINTS:
        raise OutlineError(
            _(
                "The outline has %(points)s points; at most %(most)s fit. Simplify it.",
                points=format_number(points),
                most=format_number(MOST_POINTS),
            )
        )
    refuse_swapped_near(area, parts)
    return parts


def _limit(row: LookRow, feature: Feature, key: str) -> float | None:
    """An altitude limit in metres."""
    text = plain_text(feature.properties.get(key)) if key else ""
    if not text:
        return None
    try:
        metres = float(parse_number(text))
    except Invalid as refused:
        row.problems.append(("", _("%(key)s: %(reason)s", key=key, reason=str(refused))))
        return None
    if (wrong := limits.ELEVATION_M.refusal(metres)) is not None:
        row.problems.append(("", _("%(key)s: %(reason)s", key=key, reason=wrong)))
        return None
    return metres


def _refuse_duplicates(rows: Sequence[LookRow], settings: ZoneSettings, taken: Mapping[str, int]) -> None:
    counts = Counter(row.code for row in rows)
    first: dict[str, int] = {}
    for row in rows:
        if row.code and row.code in first:
            row.problems.append(
                (
                    "",
                    _(
                        "Feature %(number)s has the code “%(code)s” too. Join the two into one MultiPolygon, or"
                        " choose another property for the code.",
                        number=first[row.code],
                        code=row.code,
                    ),
                )
            )
        if row.code in taken and counts[row.code] == 1 and not settings.replaces:
            row.problems.append(
                (
                    "",
                    _(
                        "A zone with the code “%(code)s” is on the map already. Let the new one take its place, or"
                        " leave it out.",
                        code=row.code,
                    ),
                )
            )
        first.setdefault(row.code, row.number)
