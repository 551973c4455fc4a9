"""What goes to others travels with its papers, or a person says why not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.papers.applying import Lacking
from nursery.services.papers.words import KIND_LABELS


def refuse_without_papers(lacking: Sequence[Lacking], before: Collection[int] | None) -> None:
    """``Invalid`` at ``reason`` with what is lacking and what to do about it.

    Parameters
    ----------
    before
        Ids of papers that did not fit the whole load either, where only a part of it goes.
    """
    absent = [one for one in lacking if one.paper is None]
    of_whole = [
        one for one in lacking if before is not None and one.paper is not None and one.paper.id not in before
    ]
    changed = [one for one in lacking if one.paper is not None and one not in of_whole]
    told = [
        *([_not_drawn(absent)] if absent else []),
        *([_for_the_whole(of_whole)] if of_whole else []),
        *([_changed(changed)] if changed else []),
    ]
    if told:
        raise Invalid({"reason": " ".join(told)})


def _not_drawn(absent: Iterable[Lacking]) -> str:
    return _(
        "These papers apply and are not drawn up: %(papers)s. Draw them up first, or write down why the load goes"
        " without them.",
        papers=", ".join(dict.fromkeys(str(KIND_LABELS[one.verdict.kind]) for one in absent)),
    )


def _for_the_whole(papers: Iterable[Lacking]) -> str:
    return _(
        "These papers were drawn up for the whole load, and only a part of it goes: %(papers)s. Change the lines"
        " of the load to what goes, make these papers void and draw them up again for the part; plan another load"
        " of the rest. Or write down why it goes with them as they are.",
        papers=_named(papers),
    )


def _changed(papers: Iterable[Lacking]) -> str:
    return _(
        "These papers are true no longer: %(papers)s. Make them void and draw them up again, or write down why the"
        " load goes with them as they are.",
        papers=_named(papers),
    )


def _named(papers: Iterable[Lacking]) -> str:
    return ", ".join(
        f"{one.paper.number} ({KIND_LABELS[one.verdict.kind]})" for one in papers if one.paper is not None
    )
