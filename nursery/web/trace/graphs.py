"""What the drawn chains show: a site's origins, and what became of a mother, a stand or a lot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from flask import url_for

from nursery.i18n import format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.services.flows import Onward, Origins
from nursery.services.flows.back import SiteTrace
from nursery.services.flows.reading import LotFacts, Planned, Planted
from nursery.services.flows.sent import Sent
from nursery.services.seasons import season_name
from nursery.web.trace.drawing import Band, Drawing, Node, columns_of, heaviest, lay_out

Ending = Planted | Planned | Sent


def site_drawing(trace: SiteTrace, origins: Origins, rows: Sequence[Ending]) -> Drawing:
    """Stands, lots, plantings, batches or plan lines, and the site; shares are of the site's plants."""
    ids = [one.lot.id for one in origins.lots]
    depth = columns_of([(source, target) for source, target, _share in origins.links], ids)
    last = max(depth.values(), default=0)
    nodes, bands = [], []
    stands: defaultdict[int, float] = defaultdict(float)
    facts = {}
    drawn = heaviest({one.lot.id: one.share for one in origins.lots}, depth)
    for one in origins.lots:
        if one.lot.id in drawn:
            nodes.append(_lot(one.lot, 1 + depth[one.lot.id], one.share))
        if one.collected:
            stands[one.lot.population_id] += one.share
            facts[one.lot.population_id] = one.lot
            if one.lot.id in drawn:
                bands.append(_band(f"stand-{one.lot.population_id}", f"lot-{one.lot.id}", one.share))
    nodes += [_stand(facts[key], share) for key, share in stands.items()]
    bands += _between(origins.links, drawn)
    ends = list(_ends(rows, last + 2))
    nodes += _once(node for node, _row in ends)
    whole: defaultdict[str, float] = defaultdict(float)
    for node, row in ends:
        share = row.plants / origins.plants
        bands.append(_band(f"lot-{row.lot_id}", node.key, share))
        whole[node.key] += share
    bands += [_band(key, "site", share) for key, share in whole.items()]
    nodes.append(_site(trace.site.id, trace.site.code, trace.site.name, last + 3, origins.plants, "site"))
    return lay_out(nodes, _joined(bands), len(origins.lots) - len(drawn))


def onward_drawing(onward: Onward, begin: Node) -> Drawing:
    """What is followed, the lots that hold it, plantings, batches sent out and plan lines, and their sites."""
    ids = [one.lot.id for one in onward.lots]
    depth = columns_of([(source, target) for source, target, _share in onward.links], ids)
    last = max(depth.values(), default=0)
    shares = onward.shares
    nodes, bands = [begin], []
    drawn = heaviest({one.lot.id: one.share for one in onward.lots}, depth)
    for one in onward.lots:
        key = f"lot-{one.lot.id}"
        if key != begin.key and one.lot.id in drawn:
            nodes.append(_lot(one.lot, 1 + depth[one.lot.id], one.share))
            if one.first:
                bands.append(_band(begin.key, key, one.share))
    bands += _between(onward.links, drawn)
    sites: dict[int, tuple[Ending, float]] = {}
    every: list[Ending] = [*onward.plantings, *onward.sent, *onward.lines]
    ends = list(_ends(every, last + 2))
    nodes += _once(node for node, _row in ends)
    for node, row in ends:
        share = shares[row.lot_id]
        bands.append(_band(f"lot-{row.lot_id}", node.key, share))
        bands.append(_band(node.key, f"site-{row.site_id}", share))
        sites[row.site_id] = (row, sites.get(row.site_id, (row, 0.0))[1] + share * row.plants)
    nodes += [
        _site(row.site_id, row.site_code, row.site_name, last + 3, plants, f"site-{row.site_id}")
        for row, plants in sites.values()
    ]
    return lay_out(nodes, _joined(bands), len(onward.lots) - len(drawn))


def mother_node(population_id: int, stand: str, tag: str) -> Node:
    """A single mother, where following begins."""
    title = _("Mother %(tag)s of %(stand)s", tag=tag, stand=stand)
    url = url_for("populations.detail", record_id=population_id)
    return Node("mother", "stand", 0, _("Mother %(tag)s", tag=tag), stand, title, url, 1.0)


def stand_node(population_id: int, code: str, name: str) -> Node:
    """A stand, where following begins."""
    url = url_for("populations.detail", record_id=population_id)
    return Node("mother", "stand", 0, code, name, _("Stand %(code)s, %(name)s", code=code, name=name), url, 1.0)


def lot_node(lot_id: int, code: str, species: str) -> Node:
    """A lot, where following begins."""
    url = url_for("lots.detail", record_id=lot_id)
    return Node(f"lot-{lot_id}", "lot", 0, code, species, _("Lot %(code)s", code=code), url, 1.0)


def _stand(lot: LotFacts, share: float) -> Node:
    title = _(
        "Stand %(code)s, %(name)s: %(share)s", code=lot.population_code, name=lot.population_name,
        share=format_percent(share, 1),
    )  # fmt: skip
    url = url_for("trace.stand", population_id=lot.population_id)
    key = f"stand-{lot.population_id}"
    return Node(key, "stand", 0, lot.population_code, format_percent(share, 1), title, url, share)


def _lot(lot: LotFacts, column: int, share: float) -> Node:
    told = format_percent(share, 1)
    title = _("Lot %(code)s, %(species)s: %(share)s", code=lot.code, species=lot.species, share=told)
    url = url_for("trace.onward", lot_id=lot.id)
    return Node(f"lot-{lot.id}", "lot", column, lot.code, told, title, url, share)


def _once(nodes: Iterable[Node]) -> list[Node]:
    """Boxes that several rows share, as one; what they hold adds up."""
    found: dict[str, Node] = {}
    for node in nodes:
        known = found.get(node.key)
        if known is None:
            found[node.key] = node
        else:
            plants = known.weight + node.weight
            detail = ngettext("%(num)s plant", "%(num)s plants", round(plants))
            title = _("%(label)s: %(plants)s", label=known.label, plants=detail)
            found[node.key] = replace(known, weight=plants, detail=detail, title=title)
    return list(found.values())


def _ends(rows: Sequence[Ending], column: int) -> Iterator[tuple[Node, Ending]]:
    """Plantings, batches that sent plants, and what plan lines draw of each lot."""
    for row in rows:
        plants = ngettext("%(num)s plant", "%(num)s plants", round(row.plants))
        if isinstance(row, Planned):
            key, url = f"line-{row.id}-{row.lot_id}", url_for("plans.line", record_id=row.id)
            label = _("Planned %(season)s", season=season_name(row.season))
        elif isinstance(row, Sent):
            key, url = f"batch-{row.id}-{row.site_id}", url_for("trace.batch", batch_id=row.id)
            label = _("%(batch)s, %(day)s", batch=row.batch_code, day=format_date(row.day))
        else:
            key, url = f"planting-{row.id}", url_for("plantings.detail", record_id=row.id)
            label = _("Planted %(day)s", day=format_date(row.day))
        title = _("%(label)s: %(plants)s of %(lot)s", label=label, plants=plants, lot=row.lot_code)
        yield Node(key, "line" if isinstance(row, Planned) else "planting", column, label, plants, title, url,
                   row.plants), row  # fmt: skip


def _site(site_id: int, code: str, name: str, column: int, plants: float, key: str) -> Node:
    told = ngettext("%(num)s plant", "%(num)s plants", round(plants))
    title = _("Site %(code)s, %(name)s: %(plants)s", code=code, name=name, plants=told)
    url = url_for("trace.site", site_id=site_id)
    return Node(key, "site", column, f"{code} · {format_number(round(plants))}", name, title, url, plants)


def _band(source: str, target: str, share: float) -> Band:
    return Band(source, target, share, format_percent(share, 1))


def _between(links: Sequence[tuple[int, int, float]], drawn: set[int]) -> list[Band]:
    """Splits and mixes between lots that are drawn."""
    return [
        _band(f"lot-{source}", f"lot-{target}", share)
        for source, target, share in links
        if source in drawn and target in drawn
    ]


def _joined(bands: Sequence[Band]) -> list[Band]:
    """Bands between the same two boxes as one."""
    found: defaultdict[tuple[str, str], float] = defaultdict(float)
    for band in bands:
        found[band.source, band.target] = max(found[band.source, band.target], band.share)
    return [_band(source, target, share) for (source, target), share in found.items()]
