"""Long work done beside the requests: one piece of a kind at a time, its progress, and what came of it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import dataclass, field
from secrets import token_urlsafe

from flask import Response, current_app, make_response, render_template

from nursery.errors import NurseryError

#: Works of a kind that are remembered; the oldest are forgotten first.
MOST_KEPT = 20
#: Seconds after which the page of a work looks again.
AGAIN = 2


@dataclass
class Work:
    """One piece of work."""

    token: str
    done: int = 0
    parts: int = 0
    #: What is being done now, in the words of who asked.
    told: str = ""
    #: Id of the record that it made.
    made_id: int | None = None
    is_new: bool = True
    #: Why nothing came of it, in words.
    trouble: str = ""
    over: threading.Event = field(default_factory=threading.Event)

    @property
    def is_over(self) -> bool:
        """Whether it came to an end, good or bad."""
        return self.made_id is not None or bool(self.trouble)


@dataclass
class Works:
    """Works of one kind in this process, one at a time."""

    kept: OrderedDict[str, Work] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def begin(self, run: Callable[[Work], None]) -> tuple[Work, bool]:
        """Start a work in a thread of its own; while one is going on, that one is given, and False beside it."""
        with self.lock:
            going = next((work for work in self.kept.values() if not work.is_over), None)
            if going is not None:
                return going, False
            work = Work(token_urlsafe(12))
            self.kept[work.token] = work
            while len(self.kept) > MOST_KEPT:
                self.kept.popitem(last=False)
        # The language of the person who asked goes along.
        threading.Thread(target=copy_context().run, args=(_run_whole, run, work), daemon=True).start()
        return work, True

    def find(self, token: str) -> Work | None:
        """The work of an address; None for one that nobody gave, or that was forgotten."""
        return self.kept.get(token)


def _run_whole(run: Callable[[Work], None], work: Work) -> None:
    try:
        run(work)
    finally:
        work.over.set()


def works(kind: str) -> Works:
    """The application's own, by kind."""
    every: dict[str, Works] = current_app.extensions.setdefault("nursery_works", {})
    return every.setdefault(kind, Works())


def begin_work(kind: str, do: Callable[[Work], None], *, failed: str) -> tuple[Work, bool]:
    """Begin a work that tells its troubles: a refusal in its own words, any fault as ``failed`` and in the log."""
    logger = current_app.logger

    def run(work: Work) -> None:
        try:
            do(work)
        except NurseryError as refused:
            work.trouble = str(refused)
        except Exception:
            logger.exception("Work of the kind %s came to nothing", kind)
            work.trouble = failed

    return works(kind).begin(run)


def progress_page(template: str, work: Work, *, section: str) -> Response:
    """How far a work is; the page looks again by itself until it is over."""
    answer: Response = make_response(render_template(template, section=section, work=work))
    # What ends while this page is drawn is found by its next look; only a trouble has no more to come.
    if not work.trouble:
        answer.headers["Refresh"] = str(AGAIN)
    return answer
