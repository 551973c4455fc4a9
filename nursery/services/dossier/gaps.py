"""What is missing in a dossier, so that it can be mended before an inspector finds it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nursery.i18n import gettext as _
from nursery.models.dispatches import DispatchStatus
from nursery.models.places import IndigenousStatus
from nursery.planning.origin.words import Verdict
from nursery.services.dossier.gathering import Dossier

#: Plants are looked at after their first growing season.
_FIRST_LOOK = dt.timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Lacking:
    """A record in which something is missing; ``kind`` says of which table it is."""

    kind: str
    id: int
    label: str


@dataclass(frozen=True, slots=True)
class Gap:
    """One thing that is missing, and where."""

    title: str
    records: Sequence[Lacking]

    def sentence(self) -> str:
        """In one line."""
        return _("%(title)s %(records)s.", title=self.title, records=", ".join(one.label for one in self.records))


def find_gaps(dossier: Dossier) -> list[Gap]:
    """Everything that a reader would ask for and not find; nothing is asked of the database."""
    found = [*_of_seed(dossier), *_of_origin(dossier), *_of_growing(dossier), *_of_leaving(dossier)]
    return [gap for gap in [*found, *_of_planting(dossier)] if gap.records]


def _of_seed(dossier: Dossier) -> Iterator[Gap]:
    collected = {one.lot.id for found in dossier.scope.origins.values() for one in found.lots if one.collected}
    lots = [lot for lot in dossier.records.lots if lot.id in collected]

    own = [lot for lot in lots if not lot.is_received]
    yield Gap(
        _("No collecting permit is written down for"),
        [Lacking("lots", lot.id, lot.code) for lot in own if not lot.permit_number],
    )
    yield Gap(
        _("No trip is written down for"),
        [Lacking("lots", lot.id, lot.code) for lot in own if lot.trip_id is None],
    )
    yield Gap(
        _("Mother plants were not counted of"),
        [Lacking("lots", lot.id, lot.code) for lot in lots if lot.mother_plants is None],
    )
    yield Gap(
        _("Seed was never tested of"),
        [Lacking("lots", lot.id, lot.code) for lot in lots if lot.germination is None and lot.pieces is None],
    )
    yield Gap(
        _("Received without a supplier’s document:"),
        [Lacking("lots", lot.id, lot.code) for lot in lots if lot.is_received and not lot.supplier_document],
    )


def _of_origin(dossier: Dossier) -> Iterator[Gap]:
    stands = dossier.records.stands
    yield Gap(
        _("Indigenous status is unknown of"),
        [
            Lacking("populations", one.id, one.code)
            for one in stands
            if one.indigenous_status is IndigenousStatus.UNKNOWN
        ],
    )
    yield Gap(
        _("No region of provenance is written down for"),
        [Lacking("populations", one.id, one.code) for one in stands if not one.region_code]
        + [Lacking("sites", one.id, one.code) for one in dossier.records.sites if not one.region_code],
    )
    ids = {lot.code: lot.id for lot in dossier.records.lots}
    yield Gap(
        _("The rules of origin stop a lot here, and nobody wrote down why it may be planted:"),
        [
            Lacking("lots", ids[row["lot"]], f"{row['lot']} · {row['site']}")
            for row in dossier.tables["verdicts"].records()
            if row["verdict"] == Verdict.STOP and row["decision"] != "override"
        ],
    )


def _of_growing(dossier: Dossier) -> Iterator[Gap]:
    counted = {
        row["batch"] for row in dossier.tables["counts"].records() if row["withdrawn_on"] is None
    }  # fmt: skip
    yield Gap(
        _("Never counted:"),
        [
            Lacking("batches", batch_id, code)
            for code, batch_id in dossier.ids["batches"].items()
            if code not in counted
        ],
    )


def _of_leaving(dossier: Dossier) -> Iterator[Gap]:
    loads, ids = dossier.tables["loads"], dossier.ids["loads"]
    yield Gap(
        _("No receipt is written down for"),
        [
            Lacking("dispatches", ids[row["load"]], row["load"])
            for row in loads.records()
            if row["status"] == DispatchStatus.SENT
        ],
    )
    of_line = {row["line_id"]: row["load"] for row in dossier.tables["load_lines"].records()}
    undecided = {
        of_line[row["line_id"]]
        for row in dossier.tables["returns"].records()
        if row["decision"] is None and not row["is_missing"]
    }
    yield Gap(
        _("Plants came back, and nobody decided what becomes of them:"),
        [Lacking("dispatches", ids[load], load) for load in sorted(undecided)],
    )
    without = [row["load"] for row in loads.records() if row["sent_on"] is not None and row["handed_over"]]
    papered = {row["load"] for row in dossier.tables["papers"].records() if row["voided_on"] is None}
    yield Gap(
        _("Handed over, and no paper was drawn up:"),
        [Lacking("dispatches", ids[load], load) for load in without if load not in papered],
    )
    yield Gap(
        _("Papers that nobody signed:"),
        [
            Lacking("papers", dossier.ids["papers"][row["number"]], row["number"])
            for row in dossier.tables["papers"].records()
            if row["voided_on"] is None and row["signed_on"] is None
        ],
    )


def _of_planting(dossier: Dossier) -> Iterator[Gap]:
    day = dossier.asked.day
    plantings = list(dossier.tables["plantings"].records())
    yield Gap(
        _("Plantings without the batch they came from:"),
        [
            Lacking("plantings", row["planting_id"], f"{row['site']} · {row['lot']}")
            for row in plantings
            if row["batch"] is None
        ],
    )
    surveyed = set(dossier.tables["surveys"].values("site"))
    sites = {site.code: site.id for site in dossier.records.sites}
    due = {row["site"] for row in plantings if row["planted_on"] + _FIRST_LOOK <= day} - surveyed
    yield Gap(
        _("Planted more than a year ago, and survival was never surveyed:"),
        [Lacking("sites", sites[code], code) for code in sorted(due)],
    )
