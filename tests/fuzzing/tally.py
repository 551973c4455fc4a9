"""What was tried, and how the application answered."""

from __future__ import annotations

import traceback
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

NURSERY = str(Path(__file__).parents[2] / "nursery")


@dataclass
class Tally:
    """Answers by kind of trial, route and status; faults with where they arose and what was sent."""

    answers: Counter[tuple[str, str, int]] = field(default_factory=Counter)
    faults: dict[str, str] = field(default_factory=dict)

    def note(self, kind: str, route: str, status: int, sent: object = "", words: str = "") -> None:
        """One answer."""
        self.answers[kind, route, status] += 1
        if status == 500:
            self.faults.setdefault(words or f"{route}: 500", f"{route} {sent!r}"[:600])

    def note_fault(self, kind: str, route: str, error: BaseException, sent: object) -> None:
        """One that the application did not foresee."""
        frames = [one for one in traceback.extract_tb(error.__traceback__) if one.filename.startswith(NURSERY)]
        where = f"{Path(frames[-1].filename).relative_to(NURSERY)}:{frames[-1].lineno}" if frames else "outside"
        self.note(kind, route, 500, sent, f"{type(error).__name__} at {where}: {str(error)[:200]}")

    def add(self, other: Tally) -> None:
        """What another process found."""
        self.answers.update(other.answers)
        for words, sent in other.faults.items():
            self.faults.setdefault(words, sent)

    @property
    def tries(self) -> int:
        """All of them."""
        return self.answers.total()

    def lines(self) -> list[str]:
        """By route and status, then by kind, then every fault."""
        routes: dict[str, Counter[int]] = {}
        kinds: dict[str, Counter[int]] = {}
        for (kind, route, status), count in self.answers.items():
            routes.setdefault(route, Counter())[status] += count
            kinds.setdefault(kind, Counter())[status] += count
        told = [f"{route:<44} {_statuses(counts)}" for route, counts in sorted(routes.items())]
        told += [
            "",
            *(f"{kind:<12} {counts.total():>6} tries  {_statuses(counts)}" for kind, counts in kinds.items()),
        ]
        told += ["", f"{self.tries} tries, {len(routes)} routes, {self.answers_of(500)} answers of 500"]
        return told + [f"FAULT {words}\n      {sent}" for words, sent in self.faults.items()]

    def answers_of(self, status: int) -> int:
        """How many answers had that status."""
        return sum(count for (_kind, _route, each), count in self.answers.items() if each == status)


def _statuses(counts: Counter[int]) -> str:
    return "  ".join(f"{status}:{count}" for status, count in sorted(counts.items()))
