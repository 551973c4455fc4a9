"""Signed-in people who save one form after the other, and remember what each of them was told."""

from __future__ import annotations

import http.client
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from html import unescape

from nursery.web.access import COOKIE
from nursery.web.outage import UNKNOWN, UNWRITTEN
from tests.faults.serving import Client
from tests.faults.writers import Ground
from tests.signing_in import TOKEN

CLIENTS = 8
#: Of so many forms one writes plants off, the others take seed: there are fewer plants.
PLANTS_EVERY = 4
#: Milligrams that each form takes out of a lot.
TAKEN = 2


@dataclass
class Answers:
    """Marks of forms, by what their sender knows of them."""

    saved: set[str] = field(default_factory=set)
    #: Told that nothing of it was written.
    refused: set[str] = field(default_factory=set)
    #: Told to look whether it was written.
    unsure: set[str] = field(default_factory=set)
    #: On their way when the pages died: nobody was told anything.
    unanswered: set[str] = field(default_factory=set)
    #: Answers that nobody should get.
    strange: list[str] = field(default_factory=list)

    def add(self, other: Answers) -> None:
        """Take what another was told too."""
        self.saved |= other.saved
        self.refused |= other.refused
        self.unsure |= other.unsure
        self.unanswered |= other.unanswered
        self.strange += other.strange


class People:
    """Clients who stay signed in, and keep the token of their forms, while pages come and go."""

    def __init__(self, ground: Ground) -> None:
        self.ground, self.clients = ground, [Client() for _number in range(CLIENTS)]
        for client in self.clients:
            client.cookies[COOKIE] = TOKEN
        self.stop, self.has_saved = threading.Event(), threading.Event()
        self.pool = ThreadPoolExecutor(CLIENTS)

    def meet(self, port: int) -> None:
        """Connect to the pages."""
        for client in self.clients:
            client.meet(port, form_of(self.ground, 1, "")[0])

    def begin(self, name: str) -> None:
        """All of them save from now on; returns when the first form was acknowledged."""
        self.stop.clear()
        self.has_saved.clear()
        self.going = [
            self.pool.submit(self._save, client, f"{name}-{one}") for one, client in enumerate(self.clients)
        ]
        assert self.has_saved.wait(60), "nothing was saved for a minute"

    def await_saved(self) -> None:
        """Until one of them has saved once more."""
        self.has_saved.clear()
        assert self.has_saved.wait(60), "nothing was saved for a minute"

    def end(self) -> Answers:
        """What all of them were told since they began."""
        self.stop.set()
        told = Answers()
        for one in self.going:
            told.add(one.result())
        return told

    def leave(self) -> None:
        """Close everything."""
        self.pool.shutdown()
        for client in self.clients:
            client.connection.close()

    def _save(self, client: Client, name: str) -> Answers:
        """One form after the other, until told to stop or the pages are gone."""
        told, number = Answers(), 0
        while not self.stop.is_set():
            number += 1
            mark = f"{name}-{number}"
            path, typed = form_of(self.ground, number, mark)
            try:
                status, page = client.send(path, typed)
            except (OSError, http.client.HTTPException):
                told.unanswered.add(mark)
                return told
            if status == 303:
                told.saved.add(mark)
                self.has_saved.set()
            elif status == 503 and str(UNWRITTEN) in unescape(page):
                told.refused.add(mark)
                time.sleep(0.05)  # people do not send again at once
            elif status == 503 and str(UNKNOWN) in unescape(page):
                told.unsure.add(mark)
            else:
                told.strange.append(f"{mark} was answered {status}: {page[:300]}")
        return told


def form_of(ground: Ground, number: int, mark: str) -> tuple[str, dict[str, str]]:
    """Seed taken out of a lot, or plants written off; the remark says which form it was."""
    day = {"happened_on": "2026-11-25", "reason": mark}
    if number % PLANTS_EVERY:
        lot = ground.lots[number % len(ground.lots)]
        return f"/lots/{lot}/ledger/sow", {"amount": str(TAKEN / 1000), "unit": "g", "what": "seed", **day}
    batch = ground.batches[number // PLANTS_EVERY % len(ground.batches)]
    return f"/batches/{batch}/act/lose", {"plants": "1", "cause": "pest", **day}
