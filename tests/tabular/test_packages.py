"""Data packages and archives: what is written, and that it is the same each time."""

from __future__ import annotations

import datetime as dt
import io
import zipfile

from defusedxml import ElementTree

from nursery.tabular.archives import Dataset, Terms, write_archive
from nursery.tabular.packages import Column, Link, Package, Table, describe, write_package, write_table

DAY = dt.date(2026, 3, 1)
PLACES = Table(
    "places",
    "Places",
    [
        Column("place", "Place", required=True),
        Column("east", "East", "number"),
        Column("share", "Share", "fraction"),
        Column("kind", "Kind", words={"a": "one", "b": "other"}),
        Column("is_wet", "Wet", "boolean"),
        Column("day", "Day", "date"),
    ],
    [("=A1", -7.5, 0.25, "a", True, DAY), ("B", None, None, None, False, None)],
    ("place",),
)
VISITS = Table(
    "visits", "Visits", [Column("place", "Place")], [], ("place",), [Link(("place",), "places", ("place",))]
)
PACKAGE = Package("p-1", "P", "About", DAY, "1.0.0", "en", [PLACES, VISITS])


def test_a_table_is_written_as_csv_with_numbers_as_they_are() -> None:
    assert write_table(PLACES) == (
        b"place,east,share,kind,is_wet,day\r\n'=A1,-7.5,0.25,a,true,2026-03-01\r\nB,,,,false,\r\n"
    )


def test_the_description_says_types_limits_words_and_links() -> None:
    places, visits = describe(PACKAGE)["resources"]
    fields = {one["name"]: one for one in places["schema"]["fields"]}

    assert (places["type"], places["path"]) == ("table", "data/places.csv")
    assert fields["share"]["type"] == "number"
    assert fields["share"]["constraints"] == {"minimum": 0, "maximum": 1}
    assert fields["kind"]["categories"] == [{"value": "a", "label": "one"}, {"value": "b", "label": "other"}]
    assert fields["place"]["constraints"] == {"required": True}
    assert visits["schema"]["foreignKeys"] == [
        {"fields": ["place"], "reference": {"resource": "places", "fields": ["place"]}}
    ]


def test_the_same_content_gives_the_same_bytes() -> None:
    first, second = (write_package(PACKAGE, further={"map.png": b"x"}) for _time in range(2))

    assert first == second
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert archive.namelist() == ["datapackage.json", "data/places.csv", "data/visits.csv", "map.png"]


def test_an_archive_maps_each_column_to_its_term() -> None:
    core = Terms("event.csv", "Event", "eventID", ("eventID", "license"), [{"eventID": "e\n1", "license": "x"}])
    told = Dataset("T & co", "About", "Org", DAY, "en", ("Free", "https://example.org/free"))
    with zipfile.ZipFile(io.BytesIO(write_archive(core, [], told))) as archive:
        meta, eml = (ElementTree.fromstring(archive.read(name)) for name in ("meta.xml", "eml.xml"))
        rows = archive.read("event.csv")

    terms = [one.get("term") for one in meta.iter("{http://rs.tdwg.org/dwc/text/}field")]
    assert terms == ["http://rs.tdwg.org/dwc/terms/eventID", "http://purl.org/dc/terms/license"]
    assert rows == b"id,eventID,license\r\ne 1,e 1,x\r\n"
    assert eml.findtext("dataset/title") == "T & co"
    assert eml.findtext("dataset/intellectualRights/para/ulink/citetitle") == "Free"
