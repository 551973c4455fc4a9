"""The three kinds of trial: forms filled in oddly, broken files, and calls of the API by its description."""

from __future__ import annotations

import io
from collections.abc import Callable
from contextlib import suppress
from itertools import cycle, islice
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from werkzeug.datastructures import MultiDict

from nursery.services.interface import PREFIX
from tests.fuzzing.files import broken_files
from tests.fuzzing.forms import Form, every_form
from tests.fuzzing.tally import Tally
from tests.fuzzing.values import typed
from tests.fuzzing.world import World

#: Trials after which the season is made good again.
SPOILT = 1500
#: Records that the season has of each kind at least, or nearly so.
RECORDS = 20
#: Forms after which the browser may be signed in no longer.
SIGNED_OUT_BY = {"sign_in", "account", "accounts"}
#: Of every hundred: forms, files; the rest are calls of the API.
FORMS, FILES = 60, 15


def try_all(world: World, tally: Tally, *, tries: int, start: int) -> None:
    """So many trials of all kinds; ``start`` tells the random ones apart."""
    forms = every_form(world, tally)
    with_files = [form for form in forms if form.files]
    looked_at, round_ = tally.tries, 0
    # Of what takes few values there are few examples, so that a round gives less than it is asked for.
    while (lacking := tries - tally.tries + looked_at) > 0:
        world.make_good()
        wanted = min(SPOILT, lacking)
        files, own = -(-wanted * FILES // 100), -(-wanted * FORMS // 100)
        try_forms(world, tally, forms, tries=own, start=start + round_)
        try_files(world, tally, with_files, tries=files, start=start + round_)
        try_interface(world, tally, tries=max(wanted - own - files, 0), start=start + round_)
        round_ += 1


def try_forms(world: World, tally: Tally, forms: list[Form], *, tries: int, start: int) -> None:
    """Odd values, form by form in turn."""
    for form, share in _shares(forms, tries, start):
        _examples(
            typed(form.fields, world.names), share, start,
            lambda sent, form=form: _post(world, tally, "forms", form, sent),
        )  # fmt: skip
        if form.endpoint.partition(".")[0] in SIGNED_OUT_BY:
            world.make_good()


def try_files(world: World, tally: Tally, forms: list[Form], *, tries: int, start: int) -> None:
    """Broken files, form by form in turn."""
    broken = broken_files()
    for form, share in _shares(forms, tries, start):
        _examples(
            st.tuples(broken, typed(form.fields, world.names)), share, start,
            lambda sent, form=form: _post(world, tally, "files", form, sent[1], sent[0]),
        )  # fmt: skip


def try_interface(world: World, tally: Tally, *, tries: int, start: int) -> None:
    """Calls that the description allows, and some that it does not, held against it."""
    schema = schemathesis.openapi.from_wsgi(f"{PREFIX}/openapi.json", world.app)
    operations = [one.ok() for one in schema.get_all_operations()]
    headers = {"Authorization": f"Bearer {world.secret}"}
    for operation, share in _shares(operations, tries, start):
        route = f"{operation.method.upper()} {operation.path}"
        for mode in schemathesis.GenerationMode:
            with suppress(Unsatisfiable):  # what takes nothing cannot be called wrongly
                cases = operation.as_strategy(generation_mode=mode)
                count = share // 2 if mode is schemathesis.GenerationMode.NEGATIVE else share - share // 2
                _examples(
                    cases, count, start, lambda case, route=route: _call(tally, route, case, headers)
                )  # fmt: skip


def _call(tally: Tally, route: str, case: Any, headers: dict[str, str]) -> None:
    try:
        case.headers = {**(case.headers or {}), **headers}
        number = (case.path_parameters or {}).get("record_id")
        if isinstance(number, int) and number % 3:  # of a number by chance there is no record
            case.path_parameters["record_id"] = number % RECORDS + 1
        answer = case.call()
    except Exception as error:  # noqa: BLE001 -- all of them are counted
        tally.note_fault("api", route, error, case.body)
        return
    tally.note("api", route, answer.status_code, case.body)
    try:
        case.validate_response(answer, checks=CHECKS)
    except FailureGroup as group:
        for one in group.exceptions:
            tally.faults.setdefault(f"{route}: {type(one).__name__} {str(one)[:300]}", repr(case.body)[:300])


#: What a description promises: the status, the type and the shape of every answer, and no fault of ours. That
#: every wrong value is refused it cannot, since text is taken for numbers, as people write them.
CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_headers_conformance,
    response_schema_conformance,
]  # fmt: skip


def _post(
    world: World, tally: Tally, kind: str, form: Form, sent: dict[str, Any], file: tuple[str, bytes] | None = None
) -> None:
    data = MultiDict({"csrf_token": world.token})
    for name, value in sent.items():
        if value is not None:
            data.setlist(name, [str(one) for one in value] if isinstance(value, list) else [str(value)])
    for name in form.files if file else ():
        data[name] = (io.BytesIO(file[1]), file[0] or "file")  # type: ignore[index]
    options = {"content_type": "multipart/form-data"} if form.files else {}
    told = (sent, file and (file[0], file[1][:80]))
    try:
        with world.client.post(form.path, data=data, **options) as answer:
            is_out = answer.status_code == 303 and answer.headers["Location"].startswith("/sign-in")
            tally.note(kind, form.endpoint, 401 if is_out else answer.status_code, told)
    except Exception as error:  # noqa: BLE001 -- all of them are counted
        tally.note_fault(kind, form.endpoint, error, told)


def _shares(some: list[Any], tries: int, start: int) -> list[tuple[Any, int]]:
    """As many tries for each, the rest for some, other ones each time."""
    if not some:
        return []
    shares = dict.fromkeys(range(len(some)), tries // len(some))
    for place in islice(cycle(shares), start % len(some), start % len(some) + tries % len(some)):
        shares[place] += 1
    return [(some[place], share) for place, share in shares.items() if share]


def _examples(
    strategy: st.SearchStrategy[Any], count: int, start: int, attempt: Callable[[Any], None]
) -> None:  # fmt: skip
    """So many examples that hypothesis makes; a fault is counted, and does not stop it."""
    if not count:
        return

    @seed(start)
    @settings(
        max_examples=count, database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(strategy)
    def run(example: Any) -> None:
        attempt(example)

    run()
