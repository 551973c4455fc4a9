"""Fields of plant health: a bench of any nursery, a time of day, photographs, words used before."""

# mypy: allow-subclassing-any
# WTForms has no types.

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import Any

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import InstrumentedAttribute
from wtforms import MultipleFileField
from wtforms.widgets import TimeInput

from nursery.i18n import gettext as _
from nursery.models import Batch, Bench, Nursery, Species
from nursery.services.attachments import MOST_BYTES
from nursery.web.fields import SuggestingInput, TextField, TypedField
from nursery.web.record_fields import RecordField, RecordSelect
from nursery.web.session import db

#: More photographs than this help nobody and weigh on a phone.
MOST_PHOTOS = 6
#: “7:30”, “07.30”, “7h30”.
_TIME = re.compile(r"(\d{1,2})[:.hH](\d{2})(?::\d{2})?")


class BatchField(RecordField):
    """A batch by its code, its species beside it in the suggestions."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        named = select(Species.scientific_name).where(Species.id == Batch.species_id).scalar_subquery()
        super().__init__(label, model=Batch, described=named, **options)


class BenchField(RecordSelect):
    """A bench, told with its nursery: two nurseries may each have an “East 2”."""

    def __init__(self, label: Any = None, **options: Any) -> None:
        super().__init__(label, model=Bench, **options)

    def active(self, value: Any) -> Sequence[tuple[str, str]]:
        """Benches in use in nurseries in use, and the one named already."""
        query = (
            select(Bench.id, Nursery.name, Bench.name)
            .join(Nursery, Bench.nursery_id == Nursery.id)
            .where(or_(and_(Bench.archived_at.is_(None), Nursery.archived_at.is_(None)), Bench.id == value))
            .order_by(Nursery.name, Bench.name)
        )
        return [(str(key), f"{nursery} · {bench}") for key, nursery, bench in db().execute(query)]


class TimeField(TypedField):
    """A time of day."""

    widget = TimeInput()

    def parse(self, text: str) -> dt.time:
        """Hours and minutes."""
        read = _TIME.fullmatch(text)
        if read is None or not (int(read[1]) < 24 and int(read[2]) < 60):
            raise ValueError(_("“%(text)s” is no time of day. Write it like 07:30.", text=text))
        return dt.time(int(read[1]), int(read[2]))

    def write(self, value: Any) -> str:
        """As every browser takes it."""
        return f"{value:%H:%M}"


class UsedBeforeField(TextField):
    """A line of text that offers what was written in the same column before."""

    widget = SuggestingInput()

    def __init__(
        self, label: Any = None, *, column: InstrumentedAttribute[str], usual: Sequence[str] = (), **options: Any
    ) -> None:
        super().__init__(label, **options)
        self.column, self.usual = column, usual

    def suggestions(self) -> Sequence[tuple[str, str]]:
        """Words used before, then the usual ones."""
        used = db().scalars(
            select(self.column).where(self.column != "").distinct().order_by(self.column).limit(100)
        )
        return [(word, "") for word in dict.fromkeys([*used, *self.usual])]


class PhotosField(MultipleFileField):
    """Photographs, from the camera or the gallery; ``data`` is a list of name and content."""

    understood = ""

    def __init__(self, label: Any = None, **options: Any) -> None:
        # Naming JPEG makes telephones that keep photographs in other forms hand them over as JPEG.
        super().__init__(label, render_kw={"accept": "image/jpeg,image/png,image/webp"}, **options)

    def process_data(self, value: Any) -> None:
        """No file comes from a record."""
        del value
        self.data: list[tuple[str, bytes]] = []

    def process_formdata(self, valuelist: Sequence[Any]) -> None:
        """Read them, one byte more than are kept at most."""
        sent = [file for file in valuelist if getattr(file, "filename", "")]
        if len(sent) > MOST_PHOTOS:
            raise ValueError(_("At most %(most)s photographs at once. Add the others later.", most=MOST_PHOTOS))
        self.data = [(file.filename, file.stream.read(MOST_BYTES + 1)) for file in sent]
        for file in sent:
            file.close()

    def show(self, value: Any) -> str:
        """Names of the files."""
        return ", ".join(name for name, _content in value)
