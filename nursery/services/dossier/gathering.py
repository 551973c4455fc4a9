"""Everything that a dossier tells, gathered once: its pages and its files are made of the same tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy.orm import Session

from nursery.models import Lot, Site
from nursery.services.dossier.asking import Asked
from nursery.services.dossier.growing import growing_tables
from nursery.services.dossier.judging import judge_tables
from nursery.services.dossier.leaving import leaving_tables
from nursery.services.dossier.places import (
    Gathered,
    gather_records,
    permits_table,
    populations_table,
    sites_table,
    species_table,
    trips_table,
)
from nursery.services.dossier.scope import Scope, reach
from nursery.services.dossier.seed import (
    flows_table,
    lots_table,
    mothers_table,
    movements_table,
    shares_table,
    tests_table,
    worth_table,
)
from nursery.services.dossier.standing import plantings_table, survey_tables
from nursery.services.preferences import read_preferences
from nursery.tabular.packages import Table


@dataclass(frozen=True)
class Dossier:
    """What is told of a site or a lot."""

    asked: Asked
    scope: Scope
    records: Gathered
    organisation: str
    tables: Mapping[str, Table]
    #: Ids of batches, loads and papers by what they are called.
    ids: Mapping[str, Mapping[str, int]]

    @property
    def subject(self) -> Site | Lot:
        """What it is about."""
        return self.scope.subject

    @cached_property
    def filled(self) -> Mapping[str, Table]:
        """Tables with rows."""
        return {name: table for name, table in self.tables.items() if table.rows}

    def rows(self, name: str) -> int:
        """How many rows a table has."""
        return len(self.tables[name].rows)


def gather(session: Session, asked: Asked) -> Dossier:
    """The dossier of a site or a lot, in a fixed number of queries.

    Raises
    ------
    NotFound
        When there is no such site or lot.
    """
    scope = reach(session, asked)
    found = gather_records(session, scope)
    judged = judge_tables(session, found, scope)
    grown = growing_tables(session, found, scope)
    leaving, ids = leaving_tables(session, found, scope, grown.codes)
    tables = [
        species_table(found), sites_table(found), populations_table(found, scope), trips_table(found, scope),
        permits_table(found, scope), lots_table(found, scope), shares_table(scope), flows_table(found, scope),
        mothers_table(scope), worth_table(scope), judged.verdicts, judged.reasons, judged.decisions,
        tests_table(session, found, scope), movements_table(session, found, scope), *grown.tables,
        *leaving,
        plantings_table(session, found, scope, grown.codes), *survey_tables(session, found, scope),
    ]  # fmt: skip
    organisation = read_preferences(session).organisation
    return Dossier(
        asked,
        scope,
        found,
        organisation,
        {table.name: table for table in tables},
        {
            **ids,
            "batches": {code: batch_id for batch_id, code in grown.codes.items()},
        },
    )
