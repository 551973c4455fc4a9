"""Which records the numbers in an address stand for, so that whose they are is asked before a page is.

For every route that writes. One with a number that is not in these tables is refused to all, and fails the tests.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from nursery.models import (
    Account,
    ApiToken,
    Attachment,
    Base,
    Batch,
    Bench,
    Container,
    Count,
    Decision,
    Deviation,
    Dispatch,
    DispatchLine,
    Evidence,
    Expense,
    Lot,
    Nursery,
    Paper,
    Permit,
    PermitLine,
    Person,
    Plan,
    Planting,
    Population,
    QualityCheck,
    Quarantine,
    Recipient,
    ReturnedPlants,
    RuleSet,
    Ruling,
    Scouting,
    SeasonReport,
    SeedTest,
    SignIn,
    Site,
    StoragePlace,
    Supply,
    Survey,
    SurveyPlot,
    Target,
    Task,
    Treatment,
    Trip,
    Upload,
    WorkTime,
    Zone,
)
from nursery.services.belonging import model_of
from nursery.web.rights import Unruled, writes

#: Blueprint → what its ``record_id`` stands for.
RECORDS: dict[str, type[Base]] = {
    "batches": Batch,
    "benches": Bench,
    "containers": Container,
    "deviations": Deviation,
    "dispatches": Dispatch,
    "expenses": Expense,
    "hours": WorkTime,
    "lots": Lot,
    "nurseries": Nursery,
    "papers": Paper,
    "people": Person,
    "permits": Permit,
    "plans": Plan,
    "plantings": Planting,
    "plots": SurveyPlot,
    "populations": Population,
    "recipients": Recipient,
    "scoutings": Scouting,
    "season_reports": SeasonReport,
    "sites": Site,
    "storage": StoragePlace,
    "supplies": Supply,
    "targets": Target,
    "treatments": Treatment,
    "trips": Trip,
    "work": Task,
    "zones": Zone,
}
#: Single routes whose ``record_id`` stands for something else than their blueprint's.
ROUTES: dict[str, type[Base]] = {
    "surveys.replace": Site,
    "surveys.take": Site,
    "surveys.withdraw": Survey,
    "writes_api.batches_counts": Batch,
    "writes_api.batches_losses": Batch,
    "writes_api.lots_germination_tests": Lot,
    "writes_api.tasks_done": Task,
}
#: All other parts of addresses that are numbers, by name.
NAMES: dict[str, type[Base]] = {
    "account_id": Account,
    "attachment_id": Attachment,
    "batch_id": Batch,
    "climate_file_id": Upload,
    "count_id": Count,
    "decision_id": Decision,
    "dispatch_id": Dispatch,
    "evidence_id": Evidence,
    "line_id": PermitLine,
    "load_line_id": DispatchLine,
    "look_id": QualityCheck,
    "lot_id": Lot,
    "nursery_id": Nursery,
    "quarantine_id": Quarantine,
    "return_id": ReturnedPlants,
    "rule_set_id": RuleSet,
    "ruling_id": Ruling,
    "sign_in_id": SignIn,
    "site_id": Site,
    "target_id": Target,
    "test_id": SeedTest,
    "token_id": ApiToken,
    "upload_id": Upload,
    "zone_file_id": Upload,
}
#: Rulings are about records of two kinds.
RULINGS = frozenset({"papers.ruling", "papers.withdraw"})
RULED: dict[str, type[Base]] = {"recipient": Recipient, "site": Site}
#: Pages that show as well as take, and are shown to all who may look.
SHOWN = frozenset({"quality.looks"})


def asked_for(endpoint: str, values: Mapping[str, Any], method: str) -> Iterator[tuple[type[Base], int]]:
    """The records that a request wants to change, as kinds and ids; none for one that only looks.

    Opening the form of a change asks for the same as sending it, so that nobody types in vain.

    Raises
    ------
    Unruled
        For a number of which nobody has said what it stands for.
    """
    if not writes(endpoint) or (method != "POST" and endpoint in SHOWN):
        return
    for name, value in values.items():
        if isinstance(value, int):
            yield _meant(endpoint, name, values), value


def _meant(endpoint: str, name: str, values: Mapping[str, Any]) -> type[Base]:
    if name == "subject_id":  # files stand beside records of several kinds
        return model_of(values["subject"])
    if endpoint in RULINGS and name == "record_id":
        return RULED[values["kind"]]
    if name != "record_id":
        found = NAMES.get(name)
    else:
        found = ROUTES.get(endpoint) or RECORDS.get(endpoint.rpartition(".")[0])
    if found is None:
        raise Unruled(endpoint)
    return found
