"""How the numbers of the season's stock are meant, in sentences that page, paper and workbook share."""

from __future__ import annotations

from nursery.i18n import format_number, ngettext
from nursery.i18n import gettext as _
from nursery.services.ready.rows import Stock
from nursery.services.ready.season import ReadySeason


def meanings() -> list[tuple[str, str]]:
    """What each column counts."""
    return [
        (
            _("Asked for"),
            _("Ready plants that the season’s targets need, as the plan in force has it: plants to plant and what"
              " is lost on the way.")
            + " "
            + _("It is more than what the season's report calls wanted, by what handling takes."),
        ),
        (
            _("Sent out"),
            _("Plants that left for their sites already, less those that came back.")
            + " "
            + _("They stand at the site they went to, whatever they were sown for."),
        ),
        (_("Ready now"), _("Plants alive in batches at the stage ready, by their latest count.")),
        (
            _("Forecast"),
            _("Ready plants expected of everything that stands or grows, those ready now among them, rounded to"
              " whole plants batch by batch. In eight of ten cases the number lies in the range beneath it."),
        ),
        (
            _("Allocated"),
            _("Of the forecast: what planned loads ask for, then what the targets still lack that the batches were"
              " sown for; ready plants before those that still grow."),
        ),
        (
            _("Free"),
            _("Of the forecast: promised to nobody. Whether a site may have them is for the rules of origin to"
              " say. Plants in quarantine are not free."),
        ),
        (_("Still to sow"), _("Ready plants that the plan in force still has to sow.")),
        (
            _("Short"),
            _("What is asked for and neither sent, nor allocated, nor still to be sown. It goes by what is"
              " expected: a target may fall short all the same, and the forecast says how sure it is."),
        ),
        (
            _("Size grade"),
            _("As the latest count at the stage ready found it, in the same shares for the plants alive today."),
        ),
        (
            _("Range"),
            _("Batches of one species share its rates, so their ranges add up; species do well or badly"
              " independently, so their distances from the expected number add as squares."),
        ),
    ]  # fmt: skip


def lent_text(stock: Stock) -> str:
    """What planned loads take of a batch to other sites than its own; empty for none."""
    return "; ".join(
        ngettext("%(num)s plant goes to %(site)s", "%(num)s plants go to %(site)s", plants, site=site)
        for site, plants in stock.lent
    )


def balance_text(season: ReadySeason) -> str:
    """How the season stands, in one sentence."""
    total = season.total
    if not total.wanted:
        return _("No target asks for plants here; %(free)s are free.", free=format_number(total.free))
    if season.is_past:
        return _(
            "Planting is over: of %(wanted)s plants asked for %(sent)s were sent, and %(short)s never were.",
            wanted=format_number(total.wanted), sent=format_number(total.sent), short=format_number(total.short),
        )  # fmt: skip
    if total.short:
        return ngettext(
            "%(num)s plant is short: nothing that is sown or planned gives it.",
            "%(num)s plants are short: nothing that is sown or planned gives them.", total.short,
        )  # fmt: skip
    if total.to_sow:
        return ngettext(
            "Nothing is short as long as the plan’s %(num)s plant is still sown.",
            "Nothing is short as long as the plan’s %(num)s plants are still sown.", total.to_sow,
        )  # fmt: skip
    return _("Everything that is asked for is sent, or stands for it.")
