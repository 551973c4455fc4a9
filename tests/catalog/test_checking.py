"""Each fault of a catalogue folder gives a message with file, place, value and remedy; none raises."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from nursery import resources
from nursery.catalog import check
from nursery.catalog.checking_species import check_species
from nursery.catalog.messages import Message, Report
from nursery.catalog.reading import _load
from nursery.errors import Invalid

NAME = "quercus-suber.toml"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "species").mkdir()
    shutil.copy(resources.seed_catalog() / "sources.toml", tmp_path)
    shutil.copy(resources.seed_catalog() / "species" / NAME, tmp_path / "species")
    return tmp_path


def edit(folder: Path, old: str, new: str) -> list[Message]:
    file = folder / "species" / NAME
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    return check(folder)


def test_a_sound_folder_gives_no_message(folder: Path) -> None:
    assert check(folder) == []


PURITY = 'purity = { value = 0.98, low = 0.95, high = 1, basis = "practice"'
MEAN = 'germination = { mean = 0.86, weight = 40, low = 0.73, high = 1, basis = "seen"'
CITED = 'sources = ["OAPN2012", "BLV2001", "USDA_AH727"]'
EMERGENCE = '{ key = "emergence", days = 60, low = 30, high = 90, basis = "practice" }'


@pytest.mark.parametrize(
    "case",
    [
        ("habit =", "shape =", "shape", "tree", "Unknown key; use one of"),
        ('family = "Fagaceae"', "", "family", "", "The key is missing; add it."),
        ('family = "Fagaceae"', "family = 7", "family", "7", "Write a text in quotes."),
        ('habit = "tree"', 'habit = "treee"', "habit", "treee", "Write one of tree, small tree"),
        ('"climbing"', '"flying"', "cautions", "flying", "Write one of acid"),
        ("value = 4300", 'value = "4300"', "seed.thousand_seed_weight_g", "4300", "Write a number."),
        ("value = 4300", "value = 0", "seed.thousand_seed_weight_g", "0", "Write a number from 0.001"),
        (
            "value = 4300",
            "value = 7000",
            "seed.thousand_seed_weight_g",
            "2761.96 ≤ 7000 ≤ 6060",
            "The value must lie",
        ),
        (
            "[10, 11, 12, 1], basis",
            "[10, 13], basis",
            "collecting.seed_months",
            "[10, 13]",
            "Write a list of month",
        ),
        (
            MEAN,
            MEAN.replace("0.86", "86"),
            "protocols.fresh-direct.rates.germination.mean",
            "86",
            "Write a number from",
        ),
        (
            MEAN,
            MEAN.replace("0.73", "-1"),
            "protocols.fresh-direct.rates.germination.low",
            "-1",
            "Write a fraction",
        ),
        (CITED, "sources = []", "seed.thousand_seed_weight_g.sources", "", "A published figure needs its source"),
        (
            CITED,
            'sources = ["Nobody1900"]',
            "seed.thousand_seed_weight_g.sources",
            "Nobody1900",
            "The source is not in",
        ),
        (CITED, 'sources = ["Alp2009"]', "seed.thousand_seed_weight_g.sources", "Alp2009", "No evidence row"),
        (
            PURITY,
            PURITY.replace('"practice"', '"memory", sources = ["OAPN2012"]'),
            "seed.purity.sources",
            "OAPN2012",
            "A figure from memory or practice cites no source",
        ),
        (
            PURITY,
            PURITY.replace("practice", "hearsay"),
            "seed.purity.basis",
            "hearsay",
            "Write one of seen, memory",
        ),
        (
            EMERGENCE,
            EMERGENCE.replace("days = 60, ", ""),
            "protocols.fresh-direct.phases.emergence",
            "",
            "Give either days, or degree_days with base_c.",
        ),
        (
            EMERGENCE,
            EMERGENCE.replace("days = 60, low = 30, high = 90", "degree_days = 500"),
            "protocols.fresh-direct.phases.emergence",
            "",
            "degree_days and base_c go together.",
        ),
        (
            EMERGENCE,
            EMERGENCE.replace("emergence", "waiting"),
            "protocols.fresh-direct.phases.waiting.key",
            "waiting",
            "Write one of emergence",
        ),
        (
            EMERGENCE,
            EMERGENCE.replace("emergence", "growing"),
            "protocols.fresh-direct.phases",
            "growing",
            "A phase can be in a protocol only once.",
        ),
        (
            'key = "presprouted"',
            'key = "fresh-direct"',
            "protocols.fresh-direct.key",
            "fresh-direct",
            "Two protocols",
        ),
        ('method = "direct"', 'method = "hope"', "protocols.fresh-direct.method", "hope", "Write one of direct"),
        (
            'name = "Fresh acorns sown',
            'name = "Acorns sown',
            "protocols.fresh-direct.name",
            "Acorns sown direct in deep containers",
            "Write one of Fresh acorns sown direct",
        ),
        (
            "memory = true }",
            'memory = true, source = "OAPN2012" }',
            "evidence.rows.1.source",
            "OAPN2012",
            "A row from",
        ),
        (", memory = true }", " }", "evidence.rows.1.source", "", "The source is not in sources.toml"),
        ("[evidence]\n", "[ evidence ]\n", "evidence", "", "Put the line [evidence] by itself"),
    ],
)
def test_a_fault_is_told_with_place_value_and_remedy(folder: Path, case: tuple[str, str, str, str, str]) -> None:
    old, new, path, value, remedy = case
    messages = edit(folder, old, new)
    found = [m for m in messages if (m.path, m.value) == (path, value) and m.remedy.startswith(remedy)]
    assert len(found) == 1, [str(message) for message in messages]
    assert found[0].file == NAME


def test_a_protocol_without_phases_is_told(folder: Path) -> None:
    file = folder / "species" / NAME
    text = file.read_text(encoding="utf-8")
    start = text.index("nursery = [")
    file.write_text(
        text[:start] + "nursery = []" + text[text.index("]\n\n[protocols.rates]") + 1 :], encoding="utf-8"
    )
    assert [str(message) for message in check(folder)] == [
        f"{NAME}: protocols.fresh-direct.nursery: Write at least one row."
    ]


def test_cuttings_need_their_months_and_their_life(folder: Path) -> None:
    messages = edit(folder, 'method = "direct"', 'method = "cuttings"')
    assert [message.path for message in messages] == ["collecting.cuttings_months", "storage.cuttings_life_days"]


def test_a_name_used_twice_is_told(folder: Path) -> None:
    shutil.copy(folder / "species" / NAME, folder / "species" / "quercus-suberosa.toml")
    assert check(folder) == [
        Message(
            "quercus-suberosa.toml",
            "scientific_name",
            "Quercus suber",
            f"The name is already in {NAME}; keep it in one place.",
        )
    ]


def test_a_synonym_that_is_another_species_name_is_told(folder: Path) -> None:
    shutil.copy(resources.seed_catalog() / "species" / "quercus-robur.toml", folder / "species")
    messages = edit(folder, "synonyms = []", 'synonyms = ["Quercus robur"]')
    assert [(m.file, m.path, m.value) for m in messages] == [(NAME, "synonyms", "Quercus robur")]


def test_a_file_that_is_no_toml_is_told_by_check_and_by_the_reader(folder: Path) -> None:
    (folder / "species" / NAME).write_text("scientific_name = ", encoding="utf-8")
    messages = check(folder)
    assert [(m.file, m.remedy) for m in messages] == [(NAME, "Correct the TOML syntax; the file must be UTF-8.")]
    with pytest.raises(Invalid, match=f"{NAME} cannot be read"):
        _load(folder)


def test_a_file_name_that_is_no_key_is_told(folder: Path) -> None:
    (folder / "species" / NAME).rename(folder / "species" / "Cork Oak.toml")
    assert [m.value for m in check(folder)] == ["Cork Oak"]


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    assert [m.file for m in check(tmp_path)] == ["sources.toml", "species"]


def _places(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if at:
        yield at
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _places(inner, (*at, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value[:2]):
            yield from _places(inner, (*at, index))


@pytest.mark.parametrize("odd", [-7, [], {}, [[1]], [{"key": []}], "", False], ids=repr)
def test_whatever_stands_in_any_place_is_told_not_raised(odd: Any) -> None:
    text = (resources.seed_catalog() / "species" / NAME).read_text(encoding="utf-8")
    record = tomllib.loads(text)
    sources = tomllib.loads((resources.seed_catalog() / "sources.toml").read_text(encoding="utf-8"))
    harmless: list[str] = []
    for place in _places(record):
        holder = record
        for step in place[:-1]:
            holder = holder[step]
        kept = holder[place[-1]]
        holder[place[-1]] = odd
        messages: list[Message] = []
        check_species("quercus-suber", record, frozenset(sources), Report(NAME, messages))
        holder[place[-1]] = kept
        if not messages:
            harmless.append(".".join(str(step) for step in place))
    allowed = {
        "synonyms", "cautions", "dioecious.value", "spiny.value", "toxic.value", "common_names",
        "common_names.pt", "common_names.es", "common_names.en", "protocols.1.pretreatment.0.temperature_c",
    }  # fmt: skip
    # Lists may be empty, flags false, and −7 °C is cold but possible; a row's value and a low bound are free.
    assert [
        p for p in harmless if p not in allowed and p.rsplit(".", 1)[-1] not in {"value", "low", "note", "sources"}
    ] == []
