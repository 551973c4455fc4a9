"""What is handed on keeps to the published standards, told by checkers that others wrote.

The metadata are checked by metapype, the rules of EML 2.2.0 as the Environmental Data Initiative keeps them. (The
schema itself is under the GPL and does not belong in a repository under the MIT licence.)
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from sqlalchemy.orm import Session

from nursery.services.exchange.darwin_core import darwin_core
from nursery.services.exchange.selecting import Wanted, select_lots
from tests.conftest import TODAY

GRAMMAR = Path("tests/data/darwin_core/text.rng")


@pytest.fixture
def files(session: Session, maker: Any) -> dict[str, str]:
    """The archive of one lot of a trip, under a licence."""
    maker.lot(code="L-1", trip_id=maker.trip(code="T-1").id)
    session.flush()
    content = darwin_core(session, select_lots(session, replace(Wanted(TODAY), licence="CC-BY-4.0")))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


def eml_faults(text: str) -> list[str]:
    """What the rules find; links in a paragraph, which the standard has and these rules lack, are taken out."""
    with warnings.catch_warnings():  # it reads its own files in a way that Python 3.11 and 3.12 call outdated
        warnings.simplefilter("ignore", DeprecationWarning)
        from metapype.eml import validate
        from metapype.model import metapype_io
    plain = re.sub(r"\s*<ulink .*?<citetitle>(.*?)</citetitle>.*?</ulink>\s*", r"\1", text, flags=re.DOTALL)
    found: list[tuple[Any, ...]] = []
    validate.tree(metapype_io.from_xml(plain), found)
    return [str(one[1]) for one in found]


def meta_faults(text: str) -> list[str]:
    grammar = etree.RelaxNG(etree.parse(GRAMMAR))
    grammar.validate(etree.fromstring(text.encode()))
    return [fault.message for fault in grammar.error_log]


def test_the_metadata_keep_to_the_rules_of_eml(files: dict[str, str]) -> None:
    assert eml_faults(files["eml.xml"]) == []


def test_the_rules_of_eml_would_see_metadata_out_of_order_or_missing(files: dict[str, str]) -> None:
    text = files["eml.xml"]
    without = re.sub(r"<contact>.*</contact>", "", text, flags=re.DOTALL)

    assert eml_faults(without) == ["Minimum occurrence of '1' not met for child 'contact' in parent 'dataset'"]
    assert eml_faults(text.replace("pubDate", "published"))


def test_machines_find_the_licence_by_name_and_address(files: dict[str, str]) -> None:
    dataset = etree.fromstring(files["eml.xml"].encode()).find("dataset")

    assert [(one.tag, one.text) for one in dataset.find("licensed")] == [
        ("licenseName", "Creative Commons Attribution 4.0"),
        ("url", "https://creativecommons.org/licenses/by/4.0/"),
    ]
    assert dataset.find("intellectualRights/para/ulink").get("url") == dataset.findtext("licensed/url")


def test_the_map_of_columns_keeps_to_the_grammar_of_darwin_core_text(files: dict[str, str]) -> None:
    text = files["meta.xml"]

    assert meta_faults(text) == []
    assert meta_faults(re.sub(r"<coreid [^>]*>", "", text)) != []


def test_each_column_of_the_map_stands_in_its_file_under_its_name(files: dict[str, str]) -> None:
    text = "{http://rs.tdwg.org/dwc/text/}"
    for table in etree.fromstring(files["meta.xml"].encode()):
        header = files[table.findtext(f"{text}files/{text}location")].splitlines()[0].split(",")
        told = {
            int(field.get("index")): field.get("term").rsplit("/", 1)[1] for field in table.iter(f"{text}field")
        }

        assert [told[number] for number in range(1, len(header))] == header[1:]
