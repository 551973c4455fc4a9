"""The demo's collecting permits: years of them, one nearly spent, and one lot that none covers."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Any

from sqlalchemy.orm import Session

from nursery.models import Lot, Permit, PermitLine
from nursery.models.attachments import AttachmentKind
from nursery.models.lots import Material
from nursery.models.permits import AreaKind
from nursery.services.attachments import add_attachment
from nursery.services.demo.tables import FOLDER, rows
from nursery.services.permits.holding import check_lots
from nursery.services.permits.takings import Taking, takings_of

#: What a line allows beyond what was collected under it, where the table says nothing else.
_USUAL = 1.7
#: Days from collecting to the report, for lots old enough to have been reported.
_REPORTED_AFTER = 12
_HOLDER = "River Plants of Pelindra"


def write_permits(session: Session, actor: str, lots: Sequence[Lot], today: dt.date) -> None:
    """Permits of each authority and year, their files, and the check of every lot against them."""
    takings = {taking.lot_id: taking for taking in takings_of(session, [lot.id for lot in lots])}
    permits: list[Permit] = []
    for table in rows("permits"):
        by_year: dict[int, list[Taking]] = defaultdict(list)
        for lot in lots:
            if _prefix(lot) == table["prefix"] and lot.material == Material(table["material"]):
                by_year[lot.collected_on.year].append(takings[lot.id])
        seen: set[str] = set()
        for year, taken in sorted(by_year.items(), reverse=True):
            permit = _permit(table, year)
            permit.lines = list(_lines(taken, table["prefix"], seen))
            seen |= {taking.species_name for taking in taken}
            permits.append(permit)
    permits.sort(key=lambda permit: (permit.valid_from, permit.number))
    session.add_all(permits)
    for lot in lots:
        if (today - lot.collected_on).days > _REPORTED_AFTER * 3:
            lot.reported_on = lot.collected_on + dt.timedelta(days=_REPORTED_AFTER)
    session.flush()
    check_lots(session, actor, [lot.id for lot in lots])
    for permit in permits:
        if permit.valid_from <= today <= permit.valid_to:
            name = permit.number.replace("/", "-")
            add_attachment(
                session, actor, row=permit, file_name=f"{name}.pdf", content=_page(permit.number),
                kind=AttachmentKind.DOCUMENT, title=f"{permit.number}, as it came (example)",
            )  # fmt: skip


def _prefix(lot: Lot) -> str:
    return lot.population.region_code.partition("-")[0]


def _permit(table: dict[str, str], year: int) -> Permit:
    return Permit(
        number=f"COL {table['prefix']} {year}/{table['number']}",
        authority=table["authority"],
        holder=_HOLDER,
        valid_from=dt.date(year, 1, 1),
        valid_to=dt.date(year + int(table["years"]) - 1, 12, 31),
        notice_days=int(table["notice_days"]),
        report_days=int(table["report_days"]) if table["report_days"] else None,
        conditions=table["conditions"],
    )


def _lines(taken: Iterable[Taking], prefix: str, seen: Collection[str]) -> Iterable[PermitLine]:
    """One line a species that was collected; the table tells the newest one of some species apart."""
    special = {row["species"]: row for row in rows("permit_lines") if row["prefix"] == prefix}
    sums: dict[tuple[int, str], list[int]] = defaultdict(lambda: [0, 0])
    for taking in taken:
        total = sums[taking.species_id, taking.species_name]
        total[0] += taking.milligrams
        total[1] += taking.pieces
    for (species_id, name), (milligrams, pieces) in sorted(sums.items()):
        row = special.get(name, {}) if name not in seen else {}
        if row.get("factor") == "0":
            continue  # forgotten in the permit
        factor = float(row.get("factor", _USUAL))
        yield PermitLine(
            species_id=species_id,
            cap_mg=_round_up(milligrams * factor) if milligrams else None,
            cap_pieces=_round_up(pieces * factor) if pieces and not milligrams else None,
            **_area(row.get("area", "")),
        )


def _area(text: str) -> dict[str, Any]:
    if text == "outline":
        outline = json.loads((FOLDER / "permit_area.json").read_text(encoding="utf-8"))
        return {"area_kind": AreaKind.POLYGON, "polygon": outline}
    if text:
        return {"area_kind": AreaKind.PLACES, "places": text}
    return {"area_kind": AreaKind.ANYWHERE}


def _round_up(amount: float) -> int:
    """Up to two figures, as authorities write caps."""
    step: int = 10 ** max(0, math.floor(math.log10(amount)) - 1)
    return math.ceil(amount / step) * step


def _page(text: str) -> bytes:
    """A PDF of one page with one line on it (ISO 32000-1, 7.5)."""
    drawing = f"BT /F1 18 Tf 60 760 Td ({text}: an example) Tj ET".encode("latin-1")
    parts = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 5 0 R /Resources 6 0 R >>",
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawing), drawing),
        b"<< /Font << /F1 4 0 R >> >>",
    ]
    content, starts = b"%PDF-1.4\n", []
    for number, part in enumerate(parts, 1):
        starts.append(len(content))
        content += b"%d 0 obj\n%s\nendobj\n" % (number, part)
    table = b"".join(b"%010d 00000 n \n" % start for start in starts)
    end = b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(parts) + 1, table)
    trailer = b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(parts) + 1, len(content))
    return content + end + trailer
