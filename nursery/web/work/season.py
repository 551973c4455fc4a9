"""What the season page shows of work."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nursery.services.work import words
from nursery.services.work.reading import late_and_next
from nursery.web.session import db, today


def context() -> Mapping[str, Any]:
    """How many tasks are late, and the first ones to do."""
    late, first = late_and_next(db(), today=today(), most=4)
    return {"work_late": late, "work_next": first, "work_words": words}
