"""Fields that only targets have: the season, the protocol, the container with its nursery."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import or_, select
from wtforms import Field

from nursery.catalog import Protocol, load_catalog
from nursery.catalog.vocabulary import protocol_label
from nursery.i18n import gettext as _
from nursery.models import Container, Nursery, Species
from nursery.services.importing.seasons import parse_season
from nursery.services.limits import SEASON, SURVIVAL_YEARS
from nursery.services.seasons import season_name, season_of
from nursery.services.targets.funders import funders
from nursery.web.fields import ListInput, SuggestingInput, TextField, TypedField
from nursery.web.record_fields import RecordSelect
from nursery.web.session import db, today

#: Seasons offered ahead; oaks and slow species are planned no further.
OFFERED = 5


class SeasonField(TypedField):
    """A planting season, 2027/28 or its first year; ``data`` is the first year."""

    widget = SuggestingInput()

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """The present season and the next ones."""
        first = season_of(today())
        return [(season_name(season), "") for season in range(first, first + OFFERED)]

    def parse(self, text: str) -> Any:
        """The first year."""
        season = parse_season(text)
        if refusal := SEASON.refusal(season):
            raise ValueError(refusal)
        return season

    def write(self, value: Any) -> str:
        """Both years."""
        return season_name(value)

    @property
    def understood(self) -> str:
        """Told when one year was typed."""
        if self.data is None or "/" in self.typed:
            return ""
        return _(
            "“%(typed)s” was understood as the season %(season)s.", typed=self.typed, season=self.write(self.data)
        )


class SurvivalYearField(Field):
    """After how many years survivors are counted; ``data`` is 1, 3 or None."""

    widget = ListInput()
    understood = ""

    def __init__(self, label: Any = None, **options: Any) -> None:
        self.data: int | None = None
        super().__init__(label, **options)

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The chosen year."""
        chosen = valuelist[0] if valuelist else ""
        self.data = int(chosen) if chosen in {str(year) for year in SURVIVAL_YEARS} else None

    def options(self) -> Sequence[tuple[str, str]]:
        """Years that survival rates are known for."""
        return [("", "–"), ("1", _("one year")), ("3", _("three years"))]

    def chosen(self) -> str:
        """The year now chosen."""
        return str(self.data or "")

    def show(self, value: Any) -> str:
        """The year in words."""
        return dict(self.options()).get(str(value), str(value))


class ProtocolField(Field):
    """One of the species' protocols by its name; ``data`` is its key, empty for the usual one."""

    widget = ListInput()
    understood = ""

    def __init__(self, label: Any = None, **options: Any) -> None:
        self.data: str = ""
        self.protocols: Sequence[Protocol] = ()
        super().__init__(label, **options)

    def offer(self, species_id: int | None) -> None:
        """Offer the protocols of this species."""
        species = db().get(Species, species_id) if species_id else None
        entry = load_catalog().species.get(species.key) if species else None
        self.protocols = entry.protocols if entry else ()

    def process_data(self, value: Any) -> None:
        """No protocol chosen is the empty text."""
        self.data = value or ""

    def process_formdata(self, valuelist: Sequence[str]) -> None:
        """The chosen key; the service knows whether it fits the species."""
        self.data = valuelist[0][:60] if valuelist else ""

    def options(self) -> Sequence[tuple[str, str]]:
        """The usual one first, named when the species is known."""
        usual = _("The usual one")
        if self.protocols:
            usual = _("The usual one: %(name)s", name=protocol_label(self.protocols[0].name))
        known = [(protocol.key, protocol_label(protocol.name)) for protocol in self.protocols]
        return [("", usual), *known]

    def chosen(self) -> str:
        """The key now chosen."""
        return self.data

    def show(self, value: Any) -> str:
        """The protocol's name."""
        names = [protocol_label(protocol.name) for protocol in self.protocols if protocol.key == value]
        return names[0] if names else str(value)


class FunderField(TextField):
    """Who pays; the funders of other targets are suggested, so that one is always written the same way."""

    widget = SuggestingInput()

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """Funders on record."""
        return [(name, "") for name in funders(db())]


class ContainerSelect(RecordSelect):
    """A container type; two nurseries may use the same name, so the nursery stands beside it."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Container, **options)

    def process_data(self, value: Any) -> None:
        """Offer active containers, and the one named already."""
        self.data = value
        query = (
            select(Container.id, Container.name, Nursery.name)
            .join(Nursery, Container.nursery_id == Nursery.id)
            .where(or_(Container.archived_at.is_(None), Container.id == value))
            .order_by(Nursery.name, Container.name)
        )
        self.offered = [
            ("", _("Chosen by the plan")),
            *((str(key), f"{name} ({nursery})") for key, name, nursery in db().execute(query)),
        ]

    def show(self, value: Any) -> str:
        """Its name and nursery."""
        return dict(self.offered).get(str(value)) or super().show(value)
