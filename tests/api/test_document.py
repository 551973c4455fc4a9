"""The published description: valid, whole, and with no limit or label of its own."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from nursery.api.document import describe, operations
from nursery.i18n import locale_of
from nursery.services.calculators import CALCULATORS
from nursery.services.interface import PREFIX
from nursery.services.interface.asking import PLANTS
from nursery.services.interface.resources import RESOURCES
from nursery.services.interface.writes import WRITES
from tests.conftest import TODAY
from tests.services.calculators.inputs import GOOD

PATH = f"{PREFIX}/openapi.json"


def test_the_description_is_valid_openapi_3_1_in_every_language(client: FlaskClient) -> None:
    for locale in ("en", "pt", "es"):
        document = client.get(PATH, headers={"Accept-Language": locale}).get_json()

        assert document["openapi"] == "3.1.0"
        assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_every_route_of_the_api_is_described_once(app: Flask) -> None:
    routes = sum(
        len((rule.methods or set()) - {"HEAD", "OPTIONS"})
        for rule in app.url_map.iter_rules()
        if rule.rule.startswith("/api/")
    )
    with app.test_request_context():
        document = describe(app)
        named = [rule.endpoint for rule, _method, _operation in operations(app)]

    assert routes == len(named) == sum(len(methods) for methods in document["paths"].values())
    ids = [one["operationId"] for methods in document["paths"].values() for one in methods.values()]
    assert len(set(ids)) == len(ids)


def test_all_but_the_description_itself_ask_for_a_token(client: FlaskClient) -> None:
    paths = client.get(PATH).get_json()["paths"]
    asking = {path for path, methods in paths.items() for one in methods.values() if "security" in one}

    assert set(paths) - asking == {PATH}
    assert {f"{PREFIX}/{of}/{{record_id}}/{name}" for of, name in WRITES} <= asking


def test_limits_and_labels_are_those_of_lists_and_fields(client: FlaskClient) -> None:
    paths = client.get(PATH).get_json()["paths"]
    lots = RESOURCES["lots"].listing(TODAY)
    asked = {one["name"]: one["schema"] for one in paths[f"{PREFIX}/lots"]["get"]["parameters"]}
    loss = paths[f"{PREFIX}/batches/{{record_id}}/losses"]["post"]["requestBody"]["content"]["application/json"]
    plants = loss["schema"]["properties"]["plants"]
    row = paths[f"{PREFIX}/lots/{{record_id}}"]["get"]["responses"]["200"]["content"]["application/json"]["schema"]

    assert {one.key: str(one.label) for one in lots.filters}.items() <= {
        name: schema["title"] for name, schema in asked.items()
    }.items()
    assert (plants["minimum"], plants["maximum"]) == (PLANTS.low, PLANTS.high)
    assert {one.key for one in lots.columns} <= set(row["properties"])
    assert row["properties"]["material"]["enum"] == ["seed", "cuttings"]


def test_words_follow_the_language_of_the_reader(app: Flask) -> None:
    with app.test_request_context(), locale_of("pt"):
        title = describe(app)["paths"][f"{PREFIX}/lots"]["get"]["summary"]

    assert title == "Lotes"


@pytest.mark.parametrize("name", CALCULATORS)
def test_calculators_take_and_give_what_the_description_says(client: FlaskClient, name: str) -> None:
    told = client.get(PATH).get_json()["paths"][f"{PREFIX}/calculators/{name}"]["post"]
    taken = told["requestBody"]["content"]["application/json"]["schema"]
    given = told["responses"]["200"]["content"]["application/json"]["schema"]
    answer = client.post(f"{PREFIX}/calculators/{name}", json=GOOD[name])

    assert list(Draft202012Validator(taken).iter_errors(GOOD[name])) == []
    assert list(Draft202012Validator(given).iter_errors(answer.get_json())) == []
