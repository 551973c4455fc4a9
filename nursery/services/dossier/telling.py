"""A dossier in the words and the order of its pages."""

from __future__ import annotations

from sqlalchemy.orm import Session

from nursery.documents.dossier import DossierPages, PrintedPicture, PrintedTable, Section
from nursery.documents.dossier_map import map_png
from nursery.documents.pages import Head
from nursery.i18n import current_locale, format_date, format_number, format_percent, ngettext
from nursery.i18n import gettext as _
from nursery.services.dossier.asking import Basis
from nursery.services.dossier.gaps import find_gaps
from nursery.services.dossier.gathering import Dossier
from nursery.services.dossier.naming import title_of
from nursery.services.dossier.picture import draw_picture
from nursery.services.dossier.printing import printed
from nursery.services.dossier.stories import facts_of, stand_rows
from nursery.services.dossier.words import BASIS_LABELS, glossary
from nursery.services.preferences import read_preferences


def tell(session: Session, dossier: Dossier) -> DossierPages:
    """Everything on the pages."""
    asked = dossier.asked
    day = format_date(asked.day, "long")
    made = _("Made on %(day)s by %(person)s.", day=day, person=asked.person or _("nobody named"))
    if asked.anonymous:
        made = _("Made on %(day)s. Names of people are left out.", day=day)
    sections = [
        Section(_("In short"), facts=facts_of(dossier)),
        *_missing(dossier),
        *_map(session, dossier),
        *_chain(dossier),
        *_origin(dossier),
        *_permits(dossier),
        *_seed(dossier),
        *_batches(dossier),
        *_loads(dossier),
        *_papers(dossier),
        *_planted(dossier),
        Section(_("What the words mean"), facts=glossary()),
    ]
    return DossierPages(
        title=title_of(dossier),
        lead=_lead(dossier),
        made=made,
        foot=f"{title_of(dossier)} · {day}",
        day=asked.day,
        language=current_locale(),
        colour=read_preferences(session).report_colour,
        sections=sections,
    )


def _lead(dossier: Dossier) -> str:
    if dossier.scope.site is not None:
        text = _(
            "The whole story of the plants at this site, from the mother plants their seed was taken from to what"
            " lives today, as it stands in the records of %(organisation)s."
        )
    else:
        text = _(
            "The whole story of this lot, from the mother plants it was taken from to the sites where its plants"
            " stand, as it stands in the records of %(organisation)s."
        )
    return text % {"organisation": dossier.organisation or _("this nursery")}


def _missing(dossier: Dossier) -> list[Section]:
    gaps = find_gaps(dossier)
    if not gaps:
        return [Section(_("What is missing"), texts=[_("Nothing that this dossier looks for is missing.")])]
    return [Section(_("What is missing"), points=[gap.sentence() for gap in gaps])]


def _map(session: Session, dossier: Dossier) -> list[Section]:
    drawn = draw_picture(session, dossier)
    if drawn is None:
        return []
    picture, together = drawn
    alt = _(
        "Map of %(sites)s and %(stands)s, with lines from stands to sites.",
        sites=ngettext("%(num)s planting site", "%(num)s planting sites", len(dossier.records.sites)),
        stands=ngettext("%(num)s population", "%(num)s populations", len(dossier.records.stands)),
    )
    captions = [
        _("Degrees of WGS 84; equirectangular projection around the places shown; north is up."),
        *([_("Marks of several places: %(names)s.", names="; ".join(together))] if together else []),
    ]
    if any(one.is_sensitive for one in dossier.records.stands) and not dossier.asked.exact:
        captions.append(_("Sensitive stands are drawn at places rounded to a tenth of a degree."))
    return [Section(_("Map"), picture=PrintedPicture(map_png(picture), alt, captions))]


def _chain(dossier: Dossier) -> list[Section]:
    tables = dossier.tables
    found: list[PrintedTable] = []
    heads = [
        Head(_("Population"), 2.3),
        Head(_("Lot"), 1.3),
        Head(_("Collected on"), 1.1),
        Head(_("Trip"), 1.0),
        Head(_("Permit number"), 1.3),
        Head(_("Mother plants"), 0.9, "RIGHT"),
        Head(_("Share of the plants"), 0.9, "RIGHT"),
        Head(_("Plants"), 0.8, "RIGHT"),
    ]
    for basis in Basis:
        rows = stand_rows(dossier, basis)
        if rows:
            title = _("From stands and mothers: %(what)s", what=str(BASIS_LABELS[basis]))
            found.append(PrintedTable(title, heads, rows))
    found += printed(
        tables["flows"],
        "basis 1.2, from_lot 1.5, into_lot 1.5, share 1",
        note=_("Seed that was split or mixed before it was sown."),
    )
    found += printed(
        tables["diversity"],
        "basis 1.1, species 2, plants 0.8, mothers 0.8, effective_mothers 0.9, pooled_lots 2",
    )
    found += _mothers(dossier)
    found += printed(
        tables["populations"],
        "population 1.1, name 1.7, species 1.6, latitude 1.0, longitude 1.0, uncertainty_m 0.8?, "
        "elevation_m 1.0, basin 1, region 1.3, status 1.4",
    )
    found += printed(tables["trips"], "trip 1, collected_on 1, people 2.2, weather 1.6?, hours 0.7")
    if not found:
        return [Section(_("From the mother plants"), texts=[_("Nothing was planted, sent or planned here.")])]
    return [Section(_("From the mother plants"), tables=found)]


def _mothers(dossier: Dossier) -> list[PrintedTable]:
    """By stand: a row a mother would fill pages; each has her own in the data package."""
    rows: dict[tuple[str, str, str], list[tuple[str, float]]] = {}
    table = dossier.tables["mothers"]
    for row in table.records():
        key = (table.column("basis").words[row["basis"]], row["population"], row["species"])
        rows.setdefault(key, []).append((row["mother"], row["share"]))
    heads = [
        Head(_("Of which plants"), 1.1),
        Head(_("Population"), 0.9),
        Head(_("Species"), 1.4),
        Head(_("Mothers"), 0.7, "RIGHT"),
        Head(_("Their tags"), 3),
        Head(_("Share of each"), 1.3, "RIGHT"),
    ]
    cells = []
    for key, mothers in rows.items():
        low, high = (format_percent(ends(share for _tag, share in mothers), 2) for ends in (min, max))
        cells.append(
            [
                *key,
                format_number(len(mothers)),
                ", ".join(sorted(tag for tag, _share in mothers)),
                low if low == high else _("%(low)s to %(high)s", low=low, high=high),
            ]
        )
    note = _("Shares are of all plants told of. Each single mother with her share stands in the data package.")
    return [PrintedTable(table.title, heads, cells, note)] if cells else []


def _origin(dossier: Dossier) -> list[Section]:
    tables = dossier.tables
    verdicts = printed(
        tables["verdicts"],
        "lot 1.4, site 0.8, verdict 0.8, source 0.9, distance_km 0.8, rule_set 1.8, rules_from 1.1?, "
        "decision 1.2?",
        note=_("By the rules in force on the day of this dossier."),
    )
    reasons = printed(
        tables["verdict_reasons"],
        "lot 1.3, site 0.8, rule 1.6, verdict 0.8, found 1.3, limit 1.3, note 2",
        where=lambda row: bool(row["verdict"] != "pass"),
        note=_("Rules that are met are left out here; the data package has them too."),
    )
    decisions = printed(
        tables["decisions"],
        "decided_on 1, kind 1.1, lot 1.3, site 0.8, reason 2.4, person 1.2, withdrawn_on 1?, withdrawal 1.2?",
    )
    found = [*verdicts, *reasons, *decisions]
    texts = [] if decisions else [_("Nobody decided anything against or beside the rules.")]
    return (
        [Section(_("Origin: what the rules say, and what people decided"), texts, tables=found)] if found else []
    )


def _permits(dossier: Dossier) -> list[Section]:
    found = printed(
        dossier.tables["permits"],
        "number 1.2, authority 1.8, holder 1.3, valid_from 1, valid_to 1, conditions 2.2",
    )
    found += printed(
        dossier.tables["lots"],
        "lot 1.2, permit_number 1.2, released_by 1.2, released_on 1, release_reason 2.4",
        where=lambda row: bool(row["released_on"] or row["is_held"]),
        title=_("Lots that no permit covered"),
    )
    return [Section(_("Permits"), tables=found)] if found else []


def _seed(dossier: Dossier) -> list[Section]:
    found = printed(
        dossier.tables["lots"],
        "lot 1.4, species 1.6, ripening_year 0.8, seed_g 0.9, pieces 0.7?, purity 0.8, tsw_g 1.3, "
        "germination 1.1, tested_on 1.1, certificate 1?",
    )
    found += printed(
        dossier.tables["lots"],
        "lot 1.4, storage_place 1.6, stored_on 1.1, temperature_c 1.2, humidity_pct 0.8?, "
        "moisture_pct 0.8?, supplier_document 1.6?",
        title=_("How they are kept"),
        where=lambda row: bool(row["storage_place"] or row["moisture_pct"] or row["is_received"]),
    )
    found += printed(
        dossier.tables["seed_tests"],
        "lot 1.4, kind 1.5, tested_on 1.1, result 0.8, low 0.7, high 0.7, is_accepted 1.0, "
        "person 1.2, withdrawn_reason 1.2?",
        note=_(
            "Germination, viability and purity are shares from 0 to 1; weights are in grams a thousand; moisture"
            " is in per cent."
        ),
    )
    note = [_("Every gram that came to these lots or left them stands in the data package.")]
    return [Section(_("Seed: lots, storage and tests"), note, tables=found)] if found else []


def _batches(dossier: Dossier) -> list[Section]:
    tables = dossier.tables
    found = [
        *printed(
            tables["batches"],
            "batch 1.2, species 1.6, sown_on 1.1, stage 0.9, seeds 0.8, viability 0.8, came_in 0.8, "
            "lost 0.7, dispatched 1.1, alive 0.7",
            note=tables["batches"].about,
        ),
        *printed(tables["batch_lots"], "batch 1, lot 1.4, share 0.8"),
        *printed(
            tables["counts"],
            "batch 1.2, counted_on 1.1, stage 1, plants 0.8, low 0.7, high 0.7, trays_counted 0.8, "
            "trays 0.7, person 1.3, withdrawn_reason 1.2?",
        ),
        *printed(tables["losses"], "batch 1.2, cause 2, plants 0.8"),
        *printed(
            tables["quality_checks"],
            "batch 1.2, checked_on 1.1, looked_at 0.9, fair 0.9, person 1.3, withdrawn_reason 1.2?",
        ),
    ]
    return [Section(_("Batches: sown, counted, lost"), tables=found)] if found else []


def _loads(dossier: Dossier) -> list[Section]:
    tables = dossier.tables
    found = [
        *printed(
            tables["loads"],
            "load 1.2, site 0.8, status 1, planned_on 1.1, sent_on 1.1, received_on 1.1, "
            "received_time 0.7, received_by 1.4, recipient 1.3?, reason 1.4?",
        ),
        *printed(
            tables["load_lines"],
            "load 1.2, batch 1.2, plants 0.8, sent 0.8, received 0.8, substitutes 1.2?, reason 2?",
        ),
        *printed(
            tables["returns"],
            "returned_on 1.1, plants 0.7, is_missing 0.7?, condition 1.8, decision 1.2?, decided_on 1.1, "
            "decided_by 1.2, reason 1.6",
        ),
    ]
    return [Section(_("Loads, receipts and returns"), tables=found)] if found else []


def _papers(dossier: Dossier) -> list[Section]:
    found = printed(
        dossier.tables["papers"],
        "number 1.5, kind 1.7, load 1.1, lot 1.2, issued_on 1.1, signed_by 1.2, keep_until 1.1, void_reason 1.2?",
    )
    return [Section(_("Papers"), tables=found)] if found else []


def _planted(dossier: Dossier) -> list[Section]:
    tables = dossier.tables
    found = [
        *printed(
            tables["plantings"],
            "planted_on 1.1, site 0.8, lot 1.3, batch 1.1, plants 0.8, plants_told 0.9, "
            "is_replacement 1.1, per_ha 0.8?, people 1.7",
        ),
        *printed(
            tables["surveys"],
            "survey_id 0.7, site 0.8, plot 1.3, plot_m2 0.8, season 0.8, year 0.8, surveyed_on 1.1, person 1.3",
        ),
        *printed(
            tables["survey_counts"],
            "survey_id 0.7, species 1.6, planted 0.8, alive 0.7, survival 0.8, low 0.7, high 0.7, "
            "causes 1.8, replacements_alive 1, replaced 0.9?",
            note=_(
                "Low and high are the ends of the 95 % interval. Replacements are never added to the survivors."
            ),
        ),
    ]
    return [Section(_("Planting and survival"), tables=found)] if found else []
