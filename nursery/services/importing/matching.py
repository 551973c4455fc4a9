"""Which column of a file fills which field."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from nursery.services.importing.columns import Column
from nursery.services.importing.kinds import Kind
from nursery.tabular.headings import heading_forms


def heading_test(kind: Kind) -> Callable[[str], bool]:
    """Whether a plain heading is one that files of this kind have."""
    known = frozenset().union(*(column.forms() for column in kind.columns))
    return known.__contains__


def match_headings(kind: Kind, headings: Sequence[str]) -> tuple[str, ...]:
    """The field of each heading, by its names; empty for columns nobody knows.

    A heading that is a column's own name takes it before one that is only another word for it, and each field
    is filled by one column, the first.
    """
    found = [""] * len(headings)
    for names_of in (_own_names, Column.forms):
        for column in kind.columns:
            if column.key in found:
                continue
            names = names_of(column)
            for index, heading in enumerate(headings):
                if not found[index] and any(form in names for form in heading_forms(heading)):
                    found[index] = column.key
                    break
    return tuple(found)


def _own_names(column: Column) -> frozenset[str]:
    return frozenset(
        (*heading_forms(column.heading), *(form for label in column.labels() for form in heading_forms(label)))
    )


def settle_mapping(kind: Kind, headings: Sequence[str], chosen: Sequence[str] | None) -> tuple[str, ...]:
    """A person's own choice where it fits the file (unknown fields and second uses are ignored), else by name."""
    if chosen is None:
        return match_headings(kind, headings)
    used: set[str] = set()
    kept: list[str] = []
    for key in list(chosen)[: len(headings)]:
        fits = kind.column(key) is not None and key not in used
        kept.append(key if fits else "")
        used.add(kept[-1])
    return tuple(kept + [""] * (len(headings) - len(kept)))
