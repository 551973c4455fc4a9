"""What each number means: its formula in words and where it comes from. Kept with the report in every language."""

from __future__ import annotations

from nursery.i18n import LOCALES, locale_of
from nursery.i18n import gettext as _
from nursery.services.costing.costs import Costs
from nursery.services.costing.explaining import missing_in_words


def in_all_languages() -> dict[str, list[list[str]]]:
    """Term, formula in words, and source, by language."""
    found = {}
    for language in LOCALES:
        with locale_of(language):
            found[language] = [list(one) for one in _definitions()]
    return found


def notes_in_all_languages(costs: Costs, *, is_over: bool) -> dict[str, list[str]]:
    """What is missing in the costs, and that a season still runs, in sentences, by language."""
    found = {}
    for language in LOCALES:
        with locale_of(language):
            running = _(
                "This season is not over: costs stand against the plants of today, and a cost per plant planted or"
                " surviving falls while more are planted."
            )
            found[language] = [
                *([] if is_over else [running]),
                *missing_in_words(costs.unpriced, costs.has_substrate_price, costs.unlogged),
            ]
    return found


def _definitions() -> list[tuple[str, str, str]]:
    records, practice = _("This nursery's own records."), _("Common practice, no source.")
    return [*_of_plants(records), *_of_origins(), *_of_nursery(records, practice), *_of_money(records, practice)]


def _of_plants(records: str) -> list[tuple[str, str, str]]:
    missing = _("Plants missing when a load was taken over are among them; they count as losses of handling too.")
    return [
        (
            _("Season"),
            _("The planting winter, from July to June. Seed collected, hours, expenses and supplies are those of"
              " its days; batches, their losses, yields and costs are those that grew for it, whenever that was."),
            records,
        ),
        (
            _("Wanted"),
            _("Plants that the season's targets ask for. A density counts as plants per hectare × area × share of"
              " the mix; survivors wanted count as the plants to plant of the last plan for them.")
            + " "
            + _("What is lost in handling is not in it: the nursery is asked for that much more than is to be"
                " planted."),
            records,
        ),
        (
            _("Grown"),
            _("Plants of the season's batches that are alive in the nursery or left it for a site, less those that"
              " came back.")
            + " " + missing,
            records,
        ),
        (_("Sent"), _("Plants that left for a site, less those taken back into stock.") + " " + missing, records),
        (_("Taken over"), _("Plants of received loads whose receipt was written down."), records),
        (
            _("Planted"),
            _("First plantings of the season's days. Replacements stand apart and are never added to them."),
            records,
        ),
        (
            _("Reached"),
            _("Planted ÷ wanted. Of each species at each site no more plants count as planted than were wanted"
              " there."),
            records,
        ),
        (
            _("Survival"),
            _("Plants alive ÷ plants first planted, in marked plots. Replacements are counted apart and never"
              " added to the survivors."),
            records,
        ),
        (
            _("Interval of survival"),
            _("Wilson interval, 95 percent: (alive + z²/2) ÷ (planted + z²), and to either side z ÷ (planted +"
              " z²) × square root of (alive × dead ÷ planted + z²/4), with z = 1.96."),
            _("Standard formula, from memory."),
        ),
    ]  # fmt: skip


def _of_origins() -> list[tuple[str, str, str]]:
    ledger = _("The seed ledger: splits and mixes by mass, followed back to the collected lots.")
    return [
        (
            _("Local share"),
            _("Plants whose stand lies in the region of provenance of the site ÷ plants. Left open where the code"
              " of the site or of the stand is not on record."),
            ledger,
        ),
        (
            _("Effective mothers"),
            _("1 ÷ sum of the squared shares of the mother plants. Left open where bags of mothers were pooled,"
              " since nobody then knows their shares."),
            _("Derived from group coancestry, for unrelated mothers that were not inbred."),
        ),
    ]  # fmt: skip


def _of_nursery(records: str, practice: str) -> list[tuple[str, str, str]]:
    return [
        (
            _("Seed collected"),
            _("Lots that our own crews collected on the season's days. Clean seed is what came into the lot,"
              " before anything was drawn from it. Mothers are added up by lot: a plant collected from twice"
              " counts twice."),
            records,
        ),
        (
            _("Losses"),
            _("Plants written off and not taken back, by the stage of the last count before. Seed that never came"
              " up is in the emergence, not here."),
            records,
        ),
        (
            _("Viability, emergence, establishment, hardening"),
            _("Viability: of the seed sown, on the day of sowing. The others: plants counted at the stage ÷"
              " plants (or viable seeds) that could have come so far, added up over the batches whose counts"
              " tell both."),
            records,
        ),
        (
            _("Graded out"),
            _("Plants thrown out at grading ÷ plants graded."),
            records,
        ),
        (
            _("Plants per kilogram of seed"),
            _("Plants grown ÷ clean seed drawn for them in kilograms, of batches whose seed was weighed out."),
            practice,
        ),
    ]  # fmt: skip


def _of_money(records: str, practice: str) -> list[tuple[str, str, str]]:
    own = _("Only plants that are on record as planted from the season's batches count.")
    return [
        (
            _("Costs"),
            _("Paid labour as logged, seed, trays, substrate, other supplies, expenses, and overhead as a share"
              " of all of these. What is for all is shared out by plants, in whole cents. Hours given are valued"
              " beside the costs and are in none of them. Planting is in them only as far as its hours were"
              " logged."),
            _("This nursery's own records and prices."),
        ),
        (_("Cost of a plant grown"), _("Costs ÷ plants grown."), practice),
        (
            _("Cost of a plant planted"),
            _("Costs ÷ plants planted, replacements included.") + " " + own, practice,
        ),
        (
            _("Cost of a plant surviving"),
            _("Costs ÷ (first plantings × survival at the latest survey), of species that somebody looked at.")
            + " " + own,
            practice,
        ),
        (
            _("Hours"),
            _("Hours logged on the season's days, by kind of work; given are those of people marked as volunteers."
              " Hours of plantings are those of all who planted, as written down with the planting."),
            records,
        ),
    ]  # fmt: skip
