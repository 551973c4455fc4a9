"""The floor of quality that plants of regulated species must reach before their papers are drawn up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from nursery.catalog.law import PlantSize
from nursery.i18n import format_date, format_number, format_percent
from nursery.i18n import gettext as _
from nursery.models import Batch, QualityCheck
from nursery.planning.origin.words import Verdict as Level
from nursery.services.papers.consignments import Consignment, Part
from nursery.services.papers.stock import age_years

#: Whose rules they are, as pages tell them.
SOURCE = "Directive 1999/105/EC Annex VII; RD 289/2003"


@dataclass(frozen=True)
class FloorCheck:
    """One question, answered for one batch or lot."""

    code: str
    #: The page of the batch or lot: endpoint and id.
    link: tuple[str, int]
    what: str
    level: Level
    reason: str
    #: Whether a new look at the plants can answer it otherwise.
    is_looked_at: bool = False


def floor_checks(consignment: Consignment, part: Part, latest: Mapping[int, QualityCheck]) -> list[FloorCheck]:
    """Container, fair plants and sizes of every batch of a part; none for species that are not regulated."""
    if part.regulated is None:
        return []
    batches = list({line.batch_id: line.batch for line in part.lines}.values())
    return [check for batch in batches for check in _of_batch(consignment, part, batch, latest.get(batch.id))]


def latest_checks(session: Session, batch_ids: Iterable[int]) -> dict[int, QualityCheck]:
    """The latest look at each batch that was not withdrawn."""
    rows = session.scalars(
        select(QualityCheck)
        .where(QualityCheck.batch_id.in_(set(batch_ids)), QualityCheck.withdrawn_at.is_(None))
        .order_by(QualityCheck.checked_on, QualityCheck.id)
    )
    return {row.batch_id: row for row in rows}


def _of_batch(
    consignment: Consignment, part: Part, batch: Batch, check: QualityCheck | None
) -> Sequence[FloorCheck]:
    link = ("batches.detail", batch.id)
    return [
        FloorCheck(batch.code, link, _("Container"), *_container(consignment, part, batch)),
        FloorCheck(batch.code, link, _("Fair and marketable"), *_fair(consignment, part, check), True),
        FloorCheck(batch.code, link, _("Size"), *_size(consignment, part, batch, check), True),
    ]


def _container(consignment: Consignment, part: Part, batch: Batch) -> tuple[Level, str]:
    floor = consignment.law.floor("container-cm3", part.names, consignment.country, consignment.day)
    if floor is None:
        return Level.PASS, _("No volume is asked for.")
    if batch.container is None:
        return Level.PASS, _("It does not stand in cells.")
    volume, least = format_number(batch.container.cell_volume_cm3, 1), format_number(floor.least)
    if batch.container.cell_volume_cm3 >= floor.least:
        return Level.PASS, _("%(volume)s cm³; %(least)s are asked for.", volume=volume, least=least)
    return Level.STOP, _(
        "Cells of %(volume)s cm³; %(least)s at least are asked for in regions of Mediterranean climate.",
        volume=volume,
        least=least,
    )


def _fair(consignment: Consignment, part: Part, check: QualityCheck | None) -> tuple[Level, str]:
    floor = consignment.law.floor("fair-share", part.names, consignment.country, consignment.day)
    if floor is None:
        return Level.PASS, _("No share is asked for.")
    least = format_percent(floor.least)
    if check is None:
        told = _("Nobody has looked at its quality yet; %(least)s fair plants are asked for.", least=least)
        return Level.CAUTION, told
    told = _(
        "%(fair)s of %(seen)s were fair on %(day)s (%(share)s); %(least)s are asked for.",
        fair=format_number(check.fair),
        seen=format_number(check.looked_at),
        day=format_date(check.checked_on),
        share=format_percent(check.fair / check.looked_at, 1),
        least=least,
    )
    return (Level.PASS if check.fair / check.looked_at >= floor.least else Level.STOP), told


def _size(consignment: Consignment, part: Part, batch: Batch, check: QualityCheck | None) -> tuple[Level, str]:
    sizes = consignment.law.sizes(part.names, consignment.country, consignment.day)
    if not sizes:
        return Level.PASS, _("The rules name no size for this species.")
    years = max(age_years(batch.sown_on, consignment.day), 1)
    wanted = next((row for row in sizes if row.years == years), None)
    if wanted is None:
        return Level.CAUTION, _(
            "It is %(years)s years old; the rules name sizes up to %(most)s. Ask your authority.",
            years=years,
            most=sizes[-1].years,
        )
    asked = _asked(wanted)
    if check is None or not (check.heights_cm or check.collars_mm):
        return Level.CAUTION, _("Nobody has measured it yet. %(asked)s", asked=asked)
    return _measured(check, wanted, asked, consignment, part)


def _measured(
    check: QualityCheck, wanted: PlantSize, asked: str, consignment: Consignment, part: Part
) -> tuple[Level, str]:
    floor = consignment.law.floor("fair-share", part.names, consignment.country, consignment.day)
    least = floor.least if floor else 1.0
    shares = {
        _("height"): _share(check.heights_cm, wanted.least_height_cm, wanted.most_height_cm),
        _("collar"): _share(check.collars_mm, wanted.least_collar_mm, None),
    }
    told = ", ".join(
        f"{name} {format_percent(share, 1)}" if share is not None else _("%(name)s not measured", name=name)
        for name, share in shares.items()
    )
    reason = _("Of the plants measured, so many keep it: %(told)s. %(asked)s", told=told, asked=asked)
    if any(share is not None and share < least for share in shares.values()):
        return Level.STOP, reason
    return (Level.CAUTION if None in shares.values() else Level.PASS), reason


def _share(values: Sequence[float] | None, low: float, high: float | None) -> float | None:
    if not values:
        return None
    return sum(low <= value and (high is None or value <= high) for value in values) / len(values)


def _asked(row: PlantSize) -> str:
    return _(
        "At %(years)s years: height %(low)s–%(high)s cm, root collar %(collar)s mm or more.",
        years=row.years,
        low=format_number(row.least_height_cm),
        high=format_number(row.most_height_cm),
        collar=format_number(row.least_collar_mm, 1),
    )


def worst(checks: Iterable[FloorCheck]) -> Level:
    """The gravest of several answers."""
    found = {check.level for check in checks}
    return next((level for level in (Level.STOP, Level.CAUTION) if level in found), Level.PASS)
