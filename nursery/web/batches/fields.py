"""Fields that only batches have: several trays at once, and records chosen with their place beside them."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from sqlalchemy import and_, or_, select

from nursery.i18n import gettext as _
from nursery.models import Bench, Container, Nursery, Site, Target
from nursery.services.batches.moving import MOST
from nursery.services.seasons import season_name
from nursery.web.fields import TypedField
from nursery.web.record_fields import RecordSelect
from nursery.web.session import db


class SampleField(TypedField):
    """Plants in each tray looked at, typed one after another: ``38 35 40``."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, render_kw={"inputmode": "decimal", "autocomplete": "off"}, **options)

    def parse(self, text: str) -> list[int]:
        """The numbers; anything but whole numbers is named."""
        found: list[int] = []
        for part in re.split(r"[\s;/+]+", text.replace("−", "-").strip(" ,;/+.")):
            found += self._trays(part.strip(".,"))
        if len(found) > 5000:
            raise ValueError(_("That is more trays than a sample needs. Give the plants of the whole batch."))
        return found

    def _trays(self, part: str) -> list[int]:
        """Keypads of telephones have a point or a comma and no blank: 38.35.40 is three trays."""
        if part.startswith("-"):
            raise ValueError(
                _("“%(part)s” is below zero. Type the plants of each tray: 0 or more.", part=part[:40])
            )
        if re.fullmatch(r"\d+[.,]\d+", part):
            one, other = re.split("[.,]", part)
            raise ValueError(
                _(
                    "“%(part)s” can be two trays or part of a plant. Type whole numbers with a blank between, or"
                    " two points: %(one)s..%(other)s.",
                    part=part[:40], one=one[:18], other=other[:18],
                )
            )  # fmt: skip
        if re.fullmatch(r"\d+([.,\-]+\d+)+", part):
            return [self._whole(one) for one in re.split(r"[.,\-]+", part)]
        return [self._whole(part)]

    def _whole(self, part: str) -> int:
        if not part.isascii() or not part.isdigit():
            raise ValueError(_("“%(part)s” is not a number of plants. Type whole numbers.", part=part[:40]))
        if int(part[:20]) > MOST:
            raise ValueError(_("“%(part)s” is more than any tray holds. Check the number.", part=part[:40]))
        return int(part)

    def write(self, value: Sequence[int]) -> str:
        """With blanks between."""
        return " ".join(str(one) for one in value)


class ContainerSelect(RecordSelect):
    """A container type with its nursery."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Container, **options)

    def active(self, value: Any) -> Sequence[tuple[str, str]]:
        """Containers in use in nurseries in use, and the one named already."""
        query = (
            select(Container.id, Container.name, Container.cells_per_tray, Nursery.name)
            .join(Nursery, Container.nursery_id == Nursery.id)
            .where(
                or_(and_(Container.archived_at.is_(None), Nursery.archived_at.is_(None)), Container.id == value)
            )
            .order_by(Nursery.name, Container.name)
        )
        return [
            (str(key), _("%(name)s, %(cells)s cells (%(nursery)s)", name=name, cells=cells, nursery=nursery))
            for key, name, cells, nursery in db().execute(query)
        ]


class BenchSelect(RecordSelect):
    """A bench with its nursery."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Bench, **options)

    def active(self, value: Any) -> Sequence[tuple[str, str]]:
        """Benches in use in nurseries in use, and the one named already."""
        query = (
            select(Bench.id, Bench.name, Nursery.name)
            .join(Nursery, Bench.nursery_id == Nursery.id)
            .where(or_(and_(Bench.archived_at.is_(None), Nursery.archived_at.is_(None)), Bench.id == value))
            .order_by(Nursery.name, Bench.name)
        )
        return [(str(key), f"{name} ({nursery})") for key, name, nursery in db().execute(query)]


class LeftBenchSelect(BenchSelect):
    """A bench that trays leave: one's own may be fetched from another nursery."""

    def within_reach(self, offered: Sequence[tuple[str, str]]) -> Sequence[tuple[str, str]]:
        """All of them."""
        return offered


class SiteSelect(RecordSelect):
    """A planting site."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Site, **options)


class TargetSelect(RecordSelect):
    """A target of the batch's species: site, season, plants wanted."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Target, **options)

    def process_data(self, value: Any) -> None:
        """Nothing is offered before the species is known."""
        self.data = value
        self.offered = [("", _("Nobody in particular"))]

    def offer(self, species_id: int, site_id: int | None = None) -> None:
        """Offer the targets in use that want the species, and the one named already."""
        query = (
            select(Target.id, Site.name, Target.season, Target.plants)
            .join(Site, Target.site_id == Site.id)
            .where(Target.species_id == species_id, or_(Target.archived_at.is_(None), Target.id == self.data))
            .order_by(Target.season, Site.name)
        )
        if site_id is not None:
            query = query.where(Target.site_id == site_id)
        self.offered = [("", _("Nobody in particular"))]
        for key, site, season, plants in db().execute(query):
            wanted = f", {plants}" if plants else ""
            self.offered.append((str(key), f"{site}, {season_name(season)}{wanted}"))

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The chosen id; it is held against what is offered once that is known."""
        value = valuelist[0] if valuelist else ""
        self.data = int(value) if value.isascii() and value.isdigit() and len(value) < 10 else None

    def show(self, value: Any) -> str:
        """Its site and season."""
        target = db().get(Target, value)
        return f"{target.site.name}, {season_name(target.season)}" if target else ""
