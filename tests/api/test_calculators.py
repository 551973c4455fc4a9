"""Calculators over HTTP, through the real application."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient

from nursery.config import Settings
from nursery.services.calculators import CALCULATORS, calculate
from tests.applications import lent
from tests.services.calculators.inputs import GOOD

PATH = "/api/v1/calculators"
JSON = "application/json"


@pytest.fixture
def client(settings: Settings, today: dt.date) -> Iterator[FlaskClient]:
    with lent(settings, today=today) as app:
        yield app.test_client()


def test_every_calculator_answers_as_the_service_does(client: FlaskClient) -> None:
    for name in CALCULATORS:
        response = client.post(f"{PATH}/{name}", json=GOOD[name])

        assert (response.status_code, response.get_json()) == (200, calculate(name, GOOD[name]))


def test_the_list_describes_all_calculators(client: FlaskClient) -> None:
    response = client.get(PATH)

    assert response.status_code == 200
    assert response.get_json() == {"calculators": [one.describe() for one in CALCULATORS.values()]}


def test_one_calculator_describes_itself(client: FlaskClient) -> None:
    assert client.get(f"{PATH}/survival").get_json() == CALCULATORS["survival"].describe()


def test_a_wrong_field_is_named(client: FlaskClient) -> None:
    response = client.post(f"{PATH}/survival", json={"alive": 11, "planted": 10})

    assert response.status_code == 422
    assert list(response.get_json()["errors"]) == ["alive"]


@pytest.mark.parametrize("method", ["get", "post"])
def test_an_unknown_calculator_is_not_found(client: FlaskClient, method: str) -> None:
    response = getattr(client, method)(f"{PATH}/survivle", json={})

    assert response.status_code == 404
    assert "survival" in str(response.get_json()["errors"])


@pytest.mark.parametrize("body", [b"", b"{bad", b"\xff\xfe", b"[" * 100_000, b"alive=1"])
def test_a_body_that_is_not_json_is_refused(client: FlaskClient, body: bytes) -> None:
    response = client.post(f"{PATH}/survival", data=body, content_type=JSON)

    assert response.status_code == 400
    assert "JSON" in str(response.get_json()["errors"])


@pytest.mark.parametrize("payload", ["null", "[]", '"text"', "3"])
def test_json_that_is_no_object_is_refused(client: FlaskClient, payload: str) -> None:
    response = client.post(f"{PATH}/survival", data=payload, content_type=JSON)

    assert response.status_code == 422
    assert list(response.get_json()["errors"]) == ["input"]


def test_not_a_number_is_refused_though_python_reads_it(client: FlaskClient) -> None:
    response = client.post(f"{PATH}/survival", data='{"alive": NaN, "planted": 1e999}', content_type=JSON)

    assert response.status_code == 422
    assert list(response.get_json()["errors"]) == ["alive", "planted"]


@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", "text/plain", "multipart/form-data", ""])
def test_a_body_that_does_not_say_that_it_is_json_is_refused(client: FlaskClient, kind: str) -> None:
    response = client.post(f"{PATH}/survival", data='{"alive": 1, "planted": 2}', content_type=kind)

    assert response.status_code == 415
    assert response.get_json()["errors"] == {"request": "Send JSON, and say so: Content-Type: application/json."}


def test_a_browser_saves_what_programs_read(client: FlaskClient) -> None:
    for path in (PATH, f"{PATH}/survival", f"{PATH}/survivle", "/api/v1/no-such-thing"):
        headers = client.get(path).headers
        assert headers["Content-Disposition"] == 'attachment; filename="api.json"'
        assert headers["Content-Type"] == "application/json"
