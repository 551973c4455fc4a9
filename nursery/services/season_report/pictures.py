"""Charts of a report, made of the very rows of its tables; each title says what is seen."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any

from nursery.documents.report_parts import BarRow, Chart, RangeRow
from nursery.i18n import format_money, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.planning.intervals import wilson_interval
from nursery.services.season_report.columns import COLUMNS
from nursery.services.season_report.work import HOUR_DIGITS

#: Rows in a chart that is still read at a glance.
MOST = 18


def _rows(figures: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    found = figures["tables"][key]
    return [dict(zip(found["columns"], row, strict=True)) for row in found["rows"]]


def _total(figures: Mapping[str, Any], key: str) -> dict[str, Any]:
    found = figures["tables"][key]
    return dict(zip(found["columns"], found["total"], strict=True))


def _alt(rows: Sequence[BarRow] | Sequence[RangeRow]) -> str:
    return "; ".join(f"{row.label}: {row.text}" for row in rows)


def _chart(key: str, title: str, rows: Any, **more: Any) -> list[Chart]:
    return [Chart(key, title, rows, alt=_alt(rows), **more)] if rows else []


def planted(figures: Mapping[str, Any]) -> list[Chart]:
    """Planted beside wanted, by species."""
    total = _total(figures, "plants_by_species")
    some = sorted(_rows(figures, "plants_by_species"), key=lambda row: -max(row["wanted"], row["planted"]))
    rows = [
        BarRow(
            row["species"], [(row["planted"], "done")], _of(_filled(row), row["wanted"]), row["wanted"] or None,
            is_taxon=True,
        )
        for row in some[:MOST]
        if row["wanted"] or row["planted"]
    ]  # fmt: skip
    title = (
        _(
            "%(planted)s of %(wanted)s plants wanted are in the ground",
            planted=format_number(_filled(total)),
            wanted=format_number(total["wanted"]),
        )
        if total["wanted"]
        else ngettext("%(num)s plant is in the ground", "%(num)s plants are in the ground", total["planted"])
    )
    return _chart("planted", _further(title, some), rows, legend=[("done", _("Planted"))], mark=_("Wanted"))


def _filled(row: Mapping[str, Any]) -> int:
    """Planted of what was wanted; where nothing was, all that was planted."""
    return round(row["reached"] * row["wanted"]) if row["wanted"] else int(row["planted"])


def _of(part: int, whole: int) -> str:
    if not whole:
        return format_number(part)
    return _(
        "%(part)s of %(whole)s (%(share)s)",
        part=format_number(part),
        whole=format_number(whole),
        share=format_percent(part / whole),
    )


def _further(title: str, some: Sequence[Any]) -> str:
    if len(some) <= MOST:
        return title
    return _("%(title)s; the %(most)s largest rows are drawn", title=title, most=MOST)


def survival(figures: Mapping[str, Any]) -> list[Chart]:
    """Alive among surveyed with the interval, by species of the season's plantings."""
    latest: dict[tuple[str, str], dict[str, Any]] = {}
    for row in _rows(figures, "survival"):
        key = (row["species"], row["site"])
        own = row["planting_season"] == figures["season"]
        if own and (key not in latest or row["survey_year"] > latest[key]["survey_year"]):
            latest[key] = row
    sums: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0])
    for row in latest.values():
        sums[row["species"]][0] += row["surveyed"]
        sums[row["species"]][1] += row["alive"]
    rows = [_range(name, planted, alive) for name, (planted, alive) in sums.items()]
    rows.sort(key=lambda row: -row.value)
    facts = figures["facts"]
    if not rows or facts["survival"] is None:
        return []
    title = _(
        "Of 100 plants first planted in the plots, %(alive)s live (95 percent interval: %(low)s to %(high)s)",
        alive=format_number(facts["survival"] * 100),
        low=format_number(facts["survival_low"] * 100),
        high=format_number(facts["survival_high"] * 100),
    )
    return _chart("survival", _further(title, rows), rows[:MOST])


def _range(name: str, planted: int, alive: int) -> RangeRow:
    low, high = (float(end) for end in wilson_interval(alive, planted))
    text = _(
        "%(rate)s (%(low)s–%(high)s) of %(plants)s",
        rate=format_percent(alive / planted),
        low=format_number(low * 100),
        high=format_number(high * 100),
        plants=format_number(planted),
    )
    return RangeRow(name, low, alive / planted, high, text, is_taxon=True)


def origins(figures: Mapping[str, Any]) -> list[Chart]:
    """Plants of each site from its own region, from elsewhere, and from nobody knows where."""
    sums: defaultdict[str, dict[Any, float]] = defaultdict(lambda: {True: 0.0, False: 0.0, None: 0.0})
    for row in _rows(figures, "sources"):
        sums[row["site"]][row["is_local"]] += row["plants"]
    some = sorted(sums.items(), key=lambda one: -sum(one[1].values()))
    rows = [
        BarRow(
            site, [(parts[True], "done"), (parts[False], "other"), (parts[None], "unknown")], _local_text(parts)
        )
        for site, parts in some[:MOST]
    ]
    local = figures["facts"]["local"]
    title = (
        _("Of no plant is it known whether it comes from the region of its site")
        if local is None
        else _("%(share)s of the plants come from the region of their site", share=format_percent(local))
    )
    used = {ink for row in rows for value, ink in row.parts if value > 0}
    words = [
        ("done", _("From the region of the site")),
        ("other", _("From another region")),
        ("unknown", _("Region not on record")),
    ]
    return _chart("origins", _further(title, some), rows, legend=[one for one in words if one[0] in used])


def _local_text(parts: Mapping[Any, float]) -> str:
    plants, known = sum(parts.values()), parts[True] + parts[False]
    if not known:
        return ngettext("%(num)s plant", "%(num)s plants", round(plants))
    return _(
        "%(share)s of %(plants)s",
        share=format_percent(parts[True] / known),
        plants=format_number(plants),
    )


def losses(figures: Mapping[str, Any]) -> list[Chart]:
    """Plants lost by cause, the most first."""
    sums: defaultdict[str, int] = defaultdict(int)
    for row in _rows(figures, "losses"):
        sums[row["cause"]] += row["lost"]
    total, words = sum(sums.values()), COLUMNS["cause"].words or {}
    some = sorted(sums.items(), key=lambda one: (-one[1], one[0]))
    if not some:
        return []
    rows = [BarRow(str(words[key]), [(plants, "done")], _of(plants, total)) for key, plants in some[:MOST]]
    title = _(
        "Of %(total)s plants lost, %(plants)s went by the cause “%(cause)s”",
        cause=rows[0].label,
        plants=format_number(some[0][1]),
        total=format_number(total),
    )
    return _chart("losses", title, rows)


def costs(figures: Mapping[str, Any]) -> list[Chart]:
    """What a plant costs when it leaves, when it stands, and when it lives."""
    total, currency = _total(figures, "costs_by_species"), figures["currency"]
    words = [
        ("each_grown", _("A plant grown")),
        ("each_planted", _("A plant planted")),
        ("each_surviving", _("A plant surviving")),
    ]
    rows = [
        BarRow(label, [(total[key], "done")], format_money(total[key], currency, 3))
        for key, label in words
        if total[key]
    ]
    if not total["each_grown"] or not total["each_planted"]:
        return []
    told = {key: format_money(total[key], currency) for key, _label in words}
    title = (
        _(
            "A plant grown cost %(each_grown)s, one planted %(each_planted)s, one surviving %(each_surviving)s",
            **told,
        )
        if total["each_surviving"]
        else _("A plant grown cost %(each_grown)s, one planted %(each_planted)s", **told)
    )
    return _chart("costs", title, rows)


def hours(figures: Mapping[str, Any]) -> list[Chart]:
    """Hours by kind of work, paid and given."""
    some = sorted(_rows(figures, "hours"), key=lambda row: -row["hours"])
    words = COLUMNS["job"].words or {}
    rows = [
        BarRow(str(words[row["job"]]), [(row["paid"], "done"), (row["given"], "other")], _hours_text(row))
        for row in some[:MOST]
    ]
    total = _total(figures, "hours")
    title = _(
        "Volunteers gave %(given)s of %(all)s hours logged",
        given=format_number(total["given"], HOUR_DIGITS),
        all=format_number(total["hours"], HOUR_DIGITS),
    )
    legend = [("done", _("Paid")), ("other", _("Given by volunteers"))]
    return _chart("hours", _further(title, some), rows, legend=legend)


def _hours_text(row: Mapping[str, Any]) -> str:
    told = _("%(hours)s h", hours=format_number(row["hours"], HOUR_DIGITS))
    if not row["given"]:
        return told
    return _("%(hours)s, %(given)s given", hours=told, given=format_number(row["given"], HOUR_DIGITS))
