"""What looks odd in a survey that was written down: told, never refused, for it was seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy.orm import Session

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.models import Survey, SurveyCount
from nursery.services.surveys.planted import Planted
from nursery.services.surveys.prefilling import counts_of_species, earlier_counts
from nursery.services.surveys.teaching import RATES, part_of
from nursery.services.surveys.words import year_name
from nursery.services.surveys.writing import planted_there

#: A survey this far from its year, in years, was perhaps given the wrong one.
_FAR = 0.75


def remarks(session: Session, survey: Survey) -> list[tuple[str, str]]:
    """Sentences with their tone."""
    if survey.withdrawn_at is not None:
        return []
    planted = planted_there(session, survey.plot, survey.season)
    earlier = [
        one
        for one in earlier_counts(session, survey.plot, survey.season)
        if one.id != survey.id and one.year < survey.year
    ]
    return [
        *_age(survey, planted),
        *(told for count in survey.counts for told in _beside(count, earlier)),
        *_taught(survey, planted),
    ]


def _age(survey: Survey, planted: Mapping[int, Planted]) -> Iterator[tuple[str, str]]:
    last = max((one.last_on for one in planted.values()), default=None)
    if last is None:
        yield (
            _(
                "No planting of this season is written down at the site, so that losses cannot be scaled from"
                " plots to the site."
            ),
            "caution",
        )
        return
    years = (survey.surveyed_on - last).days / 365
    if abs(years - survey.year) > _FAR:
        told = ngettext(
            "%(year)s was chosen, and the last planting was %(years)s year before. Withdraw the survey and write"
            " it anew if the year is wrong.",
            "%(year)s was chosen, and the last planting was %(years)s years before. Withdraw the survey and write"
            " it anew if the year is wrong.",
            1 if round(years, 1) == 1 else 2,
            year=year_name(survey.year),
            years=format_number(years, 1),
        )
        yield told, "caution"


def _beside(count: SurveyCount, earlier: list[Survey]) -> Iterator[tuple[str, str]]:
    """What a species' earlier count in the same plot makes doubtful."""
    before = [
        (one, counts_of_species(one)[count.species_id])
        for one in earlier
        if count.species_id in counts_of_species(one)
    ]
    if not before:
        return
    survey, last = before[-1]
    name = count.species.scientific_name
    if count.alive > last.alive:
        yield (
            _(
                "%(species)s: %(alive)s live, at %(year)s only %(before)s did. Are replacements among them?",
                species=name,
                alive=format_number(count.alive),
                year=year_name(survey.year).lower(),
                before=format_number(last.alive),
            ),
            "caution",
        )
    if count.planted != last.planted:
        yield (
            _(
                "%(species)s: %(planted)s planted first, at %(year)s it was %(before)s. One of the two is wrong.",
                species=name,
                planted=format_number(count.planted),
                year=year_name(survey.year).lower(),
                before=format_number(last.planted),
            ),
            "caution",
        )


def _taught(survey: Survey, planted: Mapping[int, Planted]) -> Iterator[tuple[str, str]]:
    if survey.year not in RATES:
        yield (
            _(
                "Survival rates are kept of year 1 and year 3, so that this survey teaches no rate. It counts on"
                " the page of the site all the same."
            ),
            "info",
        )
        return
    mixed = [
        count.species.scientific_name
        for count in survey.counts
        if part_of(count, planted.get(count.species_id)) is None
    ]
    if mixed:
        yield (
            _(
                "%(species)s: plants from seed and from cuttings stand here together, so that neither rate learns"
                " from them.",
                species=", ".join(mixed),
            ),
            "info",
        )
    learned = sum(count.evidence_id is not None for count in survey.counts)
    if learned:
        yield (
            ngettext(
                "The survival rate of %(num)s species has learned from this survey.",
                "The survival rates of %(num)s species have learned from this survey.",
                learned,
            ),
            "ok",
        )
