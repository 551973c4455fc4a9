"""The calculators' pages: the service's numbers, everything typed kept, no address that breaks them."""

from __future__ import annotations

import json
import re
import shlex
from html import unescape
from typing import Any
from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nursery.i18n import LOCALES
from nursery.services.calculators import CALCULATORS, calculate
from nursery.services.calculators.calculator import Result
from nursery.services.understanding import parse_fraction, parse_number
from nursery.web.calculators.journey import JOURNEY, PARTS
from nursery.web.language import COOKIE

every_calculator = pytest.mark.parametrize("name", CALCULATORS)


def path(name: str, **words: Any) -> str:
    return f"/calculators/{name}?{urlencode({'do': 'calculate', **words}, doseq=True)}"


def cells(page: str, table: str) -> list[list[str]]:
    found = re.search(rf'<table[^>]* id="{table}">.*?<tbody>(.*?)</tbody>', page, re.DOTALL)
    assert found
    rows = re.findall(r"<tr>(.*?)</tr>", found[1], re.DOTALL)
    return [[unescape(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL)] for row in rows]


def example_of(page: str) -> str:
    found = re.search(r'href="([^"#]+do=calculate[^"]*)"', page[page.index('class="page-actions"') :])
    assert found
    return unescape(found[1])


def read_back(result: Result, text: str) -> Any:
    """The number that a reader takes from the page."""
    if result.kind == "fraction":
        return parse_fraction(text)
    if result.kind == "flag":
        return {"yes": True, "no": False}[text]
    return parse_number(text.removesuffix(result.unit).replace(",", ""))  # English thousands


def controls(page: str) -> dict[str, str]:
    """What stands in the text controls of the form."""
    form = page[page.index('<form class="form calc-form"') :]
    typed = {}
    for tag in re.findall(r"<input [^>]*>", form):
        word = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if word.get("type") in {"text", "date"}:
            typed[word["name"]] = unescape(word["value"])
    for name, text in re.findall(r'<textarea[^>]* name="(\w+)"[^>]*>\n(.*?)</textarea>', form, re.DOTALL):
        typed[name] = unescape(text)
    return typed


def errors(page: str) -> list[str]:
    return [unescape(text) for text in re.findall(r'class="error"[^>]*>.*?<span>(.*?)</span>', page, re.DOTALL)]


def test_the_list_leads_to_every_calculator_once(client: Any) -> None:
    page = client.get("/calculators").text

    assert sorted(re.findall(r'<li><a href="/calculators/([\w-]+)">', page)) == sorted(CALCULATORS)
    assert sorted(name for _title, names in JOURNEY for name in names) == sorted(CALCULATORS)
    assert [one.name for one in CALCULATORS.values() if str(one.question) not in unescape(page)] == []


@pytest.mark.parametrize("name", PARTS)
def test_the_parts_of_a_form_hold_every_field_once(name: str) -> None:
    parted = [field for _legend, fields in PARTS[name] for field in fields]

    assert sorted(parted) == sorted(field.name for field in CALCULATORS[name].fields)


@every_calculator
def test_the_example_is_one_click_away_and_shows_the_numbers_of_the_service(client: Any, name: str) -> None:
    calculator = CALCULATORS[name]
    expected = calculate(name, calculator.example)

    answer = client.get(example_of(client.get(f"/calculators/{name}").text))

    plain = [one for one in calculator.results if not one.columns and one.kind not in {"date", "text"}]
    shown = dict(cells(answer.text, "result"))
    assert answer.status_code == 200
    assert set(shown) == {str(one.label) for one in calculator.results if not one.columns}
    assert [read_back(one, shown[str(one.label)]) for one in plain] == [
        pytest.approx(expected[one.name], rel=1e-5) for one in plain
    ]


def test_dates_come_as_a_table_of_their_phases(client: Any) -> None:
    page = client.get(example_of(client.get("/calculators/schedule").text)).text

    # 15 November less 30, 150 and 21 days is 28 April; emergence must start by 31 March, and waits those 28 days.
    assert cells(page, "phases") == [
        ["warm stratification", "9 Dec 2026", "6 Jan 2027", "0"],
        ["cold stratification", "6 Jan 2027", "31 Mar 2027", "0"],
        ["emergence", "31 Mar 2027", "19 May 2027", "28"],
        ["growing", "19 May 2027", "16 Oct 2027", "0"],
        ["hardening", "16 Oct 2027", "15 Nov 2027", "0"],
    ]
    assert cells(page, "result") == [["First day", "9 Dec 2026"]]


def test_a_result_tells_how_it_was_understood_and_what_a_blank_stands_for(client: Any) -> None:
    page = client.get(
        path("sowing", plants="1 200", method="cuttings", germination="85", cells_per_tray="40")
    ).text

    facts = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", page)
    assert {"Plants wanted": "1,200", "Method": "Cuttings", "Germination": "85 %"}.items() <= dict(facts).items()
    assert dict(facts)["Purity"] == '100 %<span class="source">left empty, so the usual value</span>'
    assert dict(cells(page, "result"))["Seed to weigh out"] == "does not apply"


@pytest.mark.parametrize("text", ["0.85", "0,85", "85", "85 %", "85%"])
def test_fractions_may_be_typed_in_every_usual_way(client: Any, text: str) -> None:
    page = client.get(path("cell-fill", germination=text, seeds_per_cell="2")).text

    assert cells(page, "result")[0] == ["Cells with a seedling", "97.75 %"]


@pytest.mark.parametrize("text", ["78 84 81 75", "78;84;81;75", "78\r\n84\r\n81\r\n75\r\n", "78, 84, 81, 75"])
def test_lists_may_be_parted_in_every_usual_way(client: Any, text: str) -> None:
    page = client.get(path("germination-test", counts=text)).text

    assert cells(page, "result")[0] == ["Germination", "79.5 %"]


def test_lists_take_decimal_commas(client: Any) -> None:
    page = client.get(path("seed-weight", replicates_g="1,71\n1,68; 1,74")).text

    assert cells(page, "result")[0] == ["Thousand-seed weight", "17.1 g"]


@pytest.mark.parametrize(
    "text", ["40.118, -7.342", "40.118,-7.342", "40,118; -7,342", "40.118 -7.342", "40°7'4.8\"N 7°20'31.2\"W"]
)
def test_places_may_be_pasted_in_every_usual_way(client: Any, text: str) -> None:
    page = client.get(path("distance", **{"from": text, "to": "39.876, -7.505"})).text

    metres = calculate("distance", {"from": [40.118, -7.342], "to": [39.876, -7.505]})["metres"]
    assert parse_number(cells(page, "result")[0][1].removesuffix(" m").replace(",", "")) == pytest.approx(
        metres, 1e-5
    )


@pytest.mark.parametrize(("text", "reason"), [("-120, 37", "look swapped"), ("40°75'N 7°10'W", "60 or more")])
def test_a_place_that_is_none_is_told_at_its_field(client: Any, text: str, reason: str) -> None:
    answer = client.get(path("distance", **{"from": text, "to": "39.876, -7.505"}))

    (told,) = errors(answer.text)
    assert (answer.status_code, reason in told) == (422, True)
    assert controls(answer.text) == {"from": text, "to": "39.876, -7.505"}


@every_calculator
def test_a_form_sent_empty_names_what_must_be_filled_in(client: Any, name: str) -> None:
    calculator = CALCULATORS[name]
    answer = client.get(path(name))

    needed = [one for one in calculator.describe()["fields"] if one["required"]]
    assert answer.status_code == 422
    assert sorted(errors(answer.text)) == sorted(
        "Fill in at least one row."
        if one["kind"] == "list" and one["item"]["kind"] == "record"
        else f"{one['label']} must be filled in."
        for one in needed
    )


@every_calculator
def test_what_was_typed_stays_when_it_is_refused(client: Any, name: str) -> None:
    odd = 'x < "y" & z'
    empty = controls(client.get(f"/calculators/{name}").text)

    answer = client.get(path(name, **dict.fromkeys(empty, odd)))

    assert answer.status_code == 422
    assert controls(answer.text) == dict.fromkeys(controls(answer.text), odd)
    assert set(controls(answer.text)) == set(empty)
    assert len(errors(answer.text)) > 0


def test_a_wrong_cell_of_a_row_is_marked_where_it_stands(client: Any) -> None:
    words = {
        "wanted": "100",
        "assurance": "0.9",
        "stages-1-mean": "0.7",
        "stages-1-weight": "20",
        "stages-4-mean": "9 x",
    }
    page = client.get(path("assurance", **words)).text

    summary = re.findall(r'<li><a href="#([\w-]+)">(.*?)</a>', page)
    assert summary == [
        ("stages-4-mean", "Stage 4: “9 x” is not a number. Write digits, such as 1250 or 0.5."),
        ("stages-4-weight", "Stage 4: Weight must be filled in."),
    ]
    assert {"stages-1-mean": "0.7", "stages-4-mean": "9 x"}.items() <= controls(page).items()


def test_empty_rows_between_do_not_count(client: Any) -> None:
    words = {"stages-2-mean": "0.7", "stages-2-weight": "20", "stages-5-mean": "0.9", "stages-5-weight": "50"}
    page = client.get(path("assurance", wanted="100", assurance="90 %", **words)).text

    stages = [{"mean": 0.7, "weight": 20}, {"mean": 0.9, "weight": 50}]
    found = calculate("assurance", {"wanted": 100, "assurance": 0.9, "stages": stages})
    assert dict(cells(page, "result"))["Smallest start"] == str(found["start"])


def test_more_rows_can_be_asked_for_and_nothing_is_lost_or_refused(client: Any) -> None:
    words = {
        "do": "rows",
        "rows": "6",
        "phases-6-name": "hardening",
        "phases-6-days": "many",
        "phases-2-months": "4",
    }
    answer = client.get(path("schedule", **words))

    typed = controls(answer.text)
    assert (answer.status_code, errors(answer.text)) == (200, [])
    assert (typed["phases-6-days"], typed["phases-10-name"], "phases-11-name" in typed) == ("many", "", False)
    assert 'id="phases-2-months-4" value="4" checked' in answer.text


def test_rows_end_where_the_calculator_takes_no_more(client: Any) -> None:
    page = client.get(path("assurance", do="rows", rows="999")).text

    assert ("stages-12-mean" in controls(page), "stages-13-mean" in controls(page)) == (True, False)
    assert "More rows" not in page


def test_an_address_without_the_button_fills_in_and_refuses_nothing(client: Any) -> None:
    answer = client.get("/calculators/seed-lot?tsw_g=17.5&purity=many")

    assert (answer.status_code, errors(answer.text)) == (200, [])
    assert controls(answer.text) == {"purity": "many", "germination": "", "tsw_g": "17.5"}


@every_calculator
def test_the_other_doors_get_the_same_input_in_every_language(client: Any, name: str) -> None:
    for language in LOCALES:
        client.set_cookie(COOKIE, language)
        assert_doors_agree(client, name, language)


def assert_doors_agree(client: Any, name: str, language: str) -> None:
    expected = calculate(name, CALCULATORS[name].example)
    page = client.get(example_of(client.get(f"/calculators/{name}").text)).text

    payload, curl, command = (
        unescape(text) for text in re.findall(r"<pre[^>]*><code>(.*?)</code>", page, re.DOTALL)
    )
    address = re.search(r'<a href="(/calculators/[^"]+)">', page[page.index("calc-doors") :])
    assert address
    assert f'<html lang="{language}">' in page
    assert calculate(name, json.loads(payload)) == expected
    _curl, _h, header, _d, data, url = shlex.split(curl)
    assert client.post(url, data=data, headers=[header.split(": ")]).get_json() == expected
    assert json.loads(shlex.split(command)[2]) == json.loads(payload)
    assert cells(client.get(unescape(address[1])).text, "result") == cells(page, "result")


@pytest.mark.parametrize("given", ["m f M", "male Female f", "MALE;F;m"])
def test_sexes_are_taken_as_letters_or_words(client: Any, given: str) -> None:
    page = client.get(path("mothers", weights="1 1 2", kind="seed", sexes=given)).text

    males = 2 if given.casefold().replace("female", "f").count("m") == 2 else 1
    assert dict(cells(page, "result"))["Status number, at most"] == f"{4 * males * (3 - males) / 3:.5f}"


def test_a_choice_that_is_none_is_shown_and_refused(client: Any) -> None:
    answer = client.get(path("mothers", weights="1 2", kind="graft"))

    assert answer.status_code == 422
    assert '<option value="graft" selected>graft</option>' in answer.text


def test_a_day_that_is_none_stays_to_be_seen(client: Any) -> None:
    page = client.get(path("schedule", plant_on="31.2.2027", **{"phases-1-name": "a", "phases-1-days": "1"})).text

    assert controls(page)["plant_on"] == "31.2.2027"
    assert errors(page) == ["“31.2.2027” is not a date. Write year, month and day, such as 2027-11-15."]


def test_an_unknown_calculator_is_not_found_and_the_near_one_offered(client: Any) -> None:
    answer = client.get("/calculators/sowin")

    assert answer.status_code == 404
    assert "Use one of: sowing." in answer.text


CELLS = ["phases-1-name", "phases-2-days", "stages-1-mean", "stages-3-weight"]
texts = st.text(max_size=12) | st.sampled_from(
    ["1", "0", "-1", "85 %", "1e308", "9" * 400, "nan", "\0", "1;2;3", "٣"]
)


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data(), name=st.sampled_from(list(CALCULATORS)))
def test_no_text_breaks_a_page(client: Any, data: st.DataObject, name: str) -> None:
    words = [
        *controls(client.get(f"/calculators/{name}").text),
        "rows",
        "phases-1-months",
        "kind",
        "method",
        "chaffy",
    ]
    typed = data.draw(st.dictionaries(st.sampled_from(words), texts, max_size=8))
    asked = data.draw(st.sampled_from(["calculate", "calculate", "rows", "", "?"]))

    answer = client.get(path(name, **{**typed, "do": asked}))

    assert answer.status_code in ({200, 422} if asked == "calculate" else {200})


def test_an_object_of_the_input_is_a_part_of_the_form_with_its_own_fields(client: Any) -> None:
    words = {
        "lot-elevation_m": "720",
        "lot-region_code": "R-1",
        "site-elevation_m": "400",
        "site-region_code": "R-1",
    }
    page = client.get(path("origin", **words, rules='{"mothers": null}')).text

    assert dict(cells(page, "result")) == {"Verdict": "stop"}
    assert cells(page, "reasons")[0][:4] == ["Elevation", "stop", "320", "300"]
    wrong = client.get(path("origin", **{**words, "lot-elevation_m": "high", "site-latitude": "91"}))
    assert (wrong.status_code, len(errors(wrong.text))) == (422, 2)
    assert controls(wrong.text)["lot-elevation_m"] == "high"
