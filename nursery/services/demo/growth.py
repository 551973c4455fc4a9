"""What became of the demo's batches: come up, pricked out, counted, lost, moved, graded and partly planted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from sqlalchemy.orm import Session

from nursery.catalog import load_catalog
from nursery.catalog.entries import Protocol
from nursery.models import Batch, Bench
from nursery.models.batches import Placement
from nursery.planning.growing.words import Cause, Stage
from nursery.services.batches import losing, placing, pricking, thinning
from nursery.services.batches.counting import record_count
from nursery.services.demo.tables import rows
from nursery.services.dispatches.direct import send_directly

#: Trays that are looked at where a batch stands in more.
_SAMPLED = 5
#: What happens how many days after a phase begins or ends; common practice, no source.
_THIN_AFTER, _LOSS_AFTER, _GROWN_AFTER, _OUT_AFTER, _DISPATCH_AFTER = 6, 30, 55, 5, 8
#: Share of the plants that the growing season takes.
_LOST = 0.03
#: Share of the ready plants that are of the first size.
_FIRST_SIZE = 0.72


@dataclass(frozen=True)
class Story:
    """A row of the table: how a batch did beside what was expected, and what is left undone."""

    emergence: float = 1.0
    establishment: float = 1.0
    cause: Cause = Cause.UNKNOWN
    #: The first count that nobody has come to.
    late: str = ""
    dispatched: bool = False
    notes: str = ""


def stories(crop: str) -> dict[tuple[str, str], Story]:
    """Stories of a crop by site code and species."""
    return {
        (row["site"], row["species"]): Story(
            float(row["emergence"]), float(row["establishment"]), Cause(row["cause"]), row["late"],
            row["dispatched"] == "yes", row["notes"],
        )
        for row in rows(f"{crop}_story")
    }  # fmt: skip


def write_growth(
    session: Session, actor: str, crop: str, batches: Sequence[Batch], benches: Mapping[str, Sequence[Bench]],
    today: dt.date,
) -> None:  # fmt: skip
    """Let every batch live up to yesterday; ``benches`` are those of each nursery by name, the open one last."""
    told = stories(crop)
    for batch in batches:
        if batch.target is not None:
            story = told.get((batch.target.site.code, batch.species.scientific_name), Story())
            _Life(session, actor, batch, story, benches, today).live()


class _Life:
    """One batch, day by day."""

    def __init__(
        self, session: Session, actor: str, batch: Batch, story: Story, benches: Mapping[str, Sequence[Bench]],
        today: dt.date,
    ) -> None:  # fmt: skip
        self.session, self.actor, self.batch, self.story, self.today = session, actor, batch, story, today
        self.chance = Random(f"demo batch {batch.code}")  # noqa: S311 -- spread for an example, no secret
        self.benches = benches
        self.protocol: Protocol = load_catalog().species[batch.species.key].protocol(batch.protocol)
        self.phases = dict(self._phases())

    def _phases(self) -> Iterator[tuple[str, tuple[dt.date, dt.date]]]:
        """First and last day of each phase: as planned, else by the protocol's days."""
        if self.batch.line is not None:
            for phase in self.batch.line.phases:
                yield phase["name"], (dt.date.fromisoformat(phase["start"]), dt.date.fromisoformat(phase["end"]))
            return
        day = self.batch.sown_on
        for grown in self.protocol.nursery:
            end = day + dt.timedelta(days=round(grown.days or 0))
            yield grown.key, (day, end)
            day = end

    def live(self) -> None:
        """Everything that has come by yesterday."""
        sprouted = self.phases.get("emergence") or self.phases["rooting"]
        self._place(self.batch.sown_on, outside=False)
        steps = [
            (sprouted[1], "emergence", self._come_up),
            (sprouted[1] + _days(_THIN_AFTER), "thinning", self._thin),
            *(
                [(self.phases["pricking-out"][1], "pricking-out", self._prick)]
                if "pricking-out" in self.phases
                else []
            ),
            (self.phases["growing"][0] + _days(_LOSS_AFTER), "loss", self._lose),
            (self.phases["growing"][0] + _days(_GROWN_AFTER), "growing", self._grow),
            (self.phases["hardening"][0], "outside", self._go_out),
            (self.phases["hardening"][0] + _days(_OUT_AFTER), "hardening", self._harden),
            (self.phases["hardening"][1], "grade", self._grade),
            (self._dispatch_day(), "dispatch", self._dispatch),
        ]
        for day, step, act in steps:
            if day >= self.today or step == self.story.late or not (self.batch.alive or step == "emergence"):
                return
            act(day)

    def _rate(self, name: str) -> float:
        return self.protocol.rates[name].mean

    def _count(
        self, day: dt.date, stage: Stage, plants: int, cause: Cause = Cause.UNKNOWN, notes: str = ""
    ) -> None:
        trays = self.batch.trays
        sample = self._sample(plants, trays) if trays > _SAMPLED and stage is not Stage.READY else None
        grades = {"1": round(plants * _FIRST_SIZE), "2": plants - round(plants * _FIRST_SIZE)}
        record_count(
            self.session, self.actor, batch=self.batch, stage=stage, counted_on=day, today=self.today,
            plants=None if sample else plants, sample=sample, cause=cause, notes=notes,
            grades=grades if stage is Stage.READY else None,
        )  # fmt: skip

    def _sample(self, plants: int, trays: int) -> list[int]:
        mean = plants / trays
        most = self.batch.cells_per_tray or plants
        return [min(max(round(self.chance.gauss(mean, 0.09 * mean)), 0), most) for _tray in range(_SAMPLED)]

    def _come_up(self, day: dt.date) -> None:
        viable = self.batch.viability if self.batch.viability is not None else self._rate("germination")
        plants = round(self.batch.seeds * viable * self._rate("emergence") * self.story.emergence)
        trays, most = self.batch.trays, self.batch.cells_per_tray
        if most is not None and (self.batch.seeds_per_cell or 1) == 1:
            plants = min(plants, trays * most)
        notes = self.story.notes if self.story.emergence < 1 else ""
        sample = None
        if trays > _SAMPLED:
            sample = [
                max(round(self.chance.gauss(plants / trays, 0.1 * plants / trays)), 0) for _tray in range(_SAMPLED)
            ]
        record_count(
            self.session, self.actor, batch=self.batch, stage=Stage.EMERGED, counted_on=day, today=self.today,
            plants=None if sample else plants, sample=sample, notes=notes,
        )  # fmt: skip

    def _thin(self, day: dt.date) -> None:
        cells = self.batch.trays * (self.batch.cells_per_tray or 0)
        if cells and (per_cell := self.batch.seeds_per_cell or 1) > 1:
            filled = round(cells * (1 - (1 - self.batch.alive / (cells * per_cell)) ** per_cell))
            if filled < self.batch.alive:
                thinning.thin(
                    self.session, self.actor, batch=self.batch, left=filled, happened_on=day, today=self.today
                )

    def _prick(self, day: dt.date) -> None:
        line = self.batch.line
        if line is None or line.container_id is None:
            return
        room = line.cells_sown
        pricking.prick_out(
            self.session, self.actor, batch=self.batch, pricked=min(self.batch.alive, room),
            container_id=line.container_id, happened_on=day, today=self.today,
        )  # fmt: skip

    def _lose(self, day: dt.date) -> None:
        if (lost := round(self.batch.alive * _LOST)) > 0:
            losing.lose(
                self.session, self.actor, batch=self.batch, plants=lost, cause=self.story.cause, happened_on=day,
                today=self.today,
            )  # fmt: skip

    def _grow(self, day: dt.date) -> None:
        kept = self._rate("establishment") * self.story.establishment / (1 - _LOST)
        notes = self.story.notes if self.story.establishment < 1 else ""
        self._count(day, Stage.GROWING, round(self.batch.alive * min(kept, 1.0)), self.story.cause, notes)

    def _go_out(self, day: dt.date) -> None:
        self._place(day, outside=True)

    def _harden(self, day: dt.date) -> None:
        self._count(day, Stage.HARDENING, round(self.batch.alive * self._rate("hardening")))

    def _grade(self, day: dt.date) -> None:
        good = round(self.batch.alive * (1 - self._rate("cull")))
        self._count(day, Stage.READY, good, Cause.GRADED_OUT)

    def _dispatch_day(self) -> dt.date:
        """Some days after grading, and not before the planting that was planned."""
        graded = self.phases["hardening"][1] + _days(_DISPATCH_AFTER)
        return graded if self.batch.line is None else max(graded, self.batch.line.plant_on)

    def _dispatch(self, day: dt.date) -> None:
        target = self.batch.target
        if self.story.dispatched and target is not None:
            send_directly(
                self.session, self.actor, batch=self.batch, site_id=target.site_id, target_id=target.id,
                plants=min(self.batch.alive, target.plants or 0), happened_on=day, today=self.today,
            )  # fmt: skip

    def _place(self, day: dt.date, *, outside: bool) -> None:
        """On the nursery's benches in turn, and on its last, the open one, to harden."""
        nursery = self.batch.nursery or (self.batch.container.nursery if self.batch.container else None)
        own = self.benches.get(nursery.name, ()) if nursery else ()
        if not own or not self.batch.trays:
            return
        for one in placing.standing(self.session, self.batch):
            self._leave(one, day)
        bench = own[-1] if outside else own[self.chance.randrange(max(len(own) - 1, 1))]
        placing.place(
            self.session, self.actor, batch=self.batch, bench_id=bench.id, trays=self.batch.trays, from_on=day,
            today=self.today,
        )  # fmt: skip

    def _leave(self, one: Placement, day: dt.date) -> None:
        placing.leave(
            self.session, self.actor, batch=self.batch, bench_id=one.bench_id, trays=one.trays, on=day,
            today=self.today,
        )  # fmt: skip


def _days(number: int) -> dt.timedelta:
    return dt.timedelta(days=number)
