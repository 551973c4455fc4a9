"""What of a line went, came, is missing, came back, and waits."""

from __future__ import annotations

from dataclasses import dataclass

from nursery.models import Dispatch, DispatchLine
from nursery.models.dispatches import DispatchStatus


@dataclass(frozen=True, slots=True)
class LineSums:
    """Plants of a line, or of all lines of a load."""

    plants: int = 0
    sent: int = 0
    received: int = 0
    #: Sent and never taken over.
    missing: int = 0
    #: Came back, whatever was decided.
    returned: int = 0
    #: Of these, nobody has decided yet.
    waiting: int = 0

    @property
    def at_site(self) -> int:
        """What stands at the site, or is on its way there."""
        return self.sent - self.missing - self.returned

    @property
    def rest(self) -> int:
        """Asked for and not sent."""
        return self.plants - self.sent

    def __add__(self, other: LineSums) -> LineSums:
        """Both together."""
        return LineSums(
            self.plants + other.plants, self.sent + other.sent, self.received + other.received,
            self.missing + other.missing, self.returned + other.returned, self.waiting + other.waiting,
        )  # fmt: skip


def line_sums(line: DispatchLine) -> LineSums:
    """Of one line."""
    came_back = [one for one in line.returns if not one.is_missing]
    return LineSums(
        line.plants,
        line.sent or 0,
        line.received or 0,
        sum(one.plants for one in line.returns if one.is_missing),
        sum(one.plants for one in came_back),
        sum(one.plants for one in came_back if one.decision is None),
    )


def load_sums(load: Dispatch) -> LineSums:
    """Of all lines of a load."""
    return sum((line_sums(line) for line in load.lines), LineSums())


def has_left(load: Dispatch) -> bool:
    """Whether its plants have left the nursery."""
    return load.status in {DispatchStatus.SENT, DispatchStatus.RECEIVED}
