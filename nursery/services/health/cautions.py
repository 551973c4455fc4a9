"""What is said where somebody works with plant protection products, or with plants that may be sick."""

from __future__ import annotations

from nursery.i18n import lazy as _l

#: Common practice; labels, safety data sheets and the law of the place say more.
PRODUCTS = _l(
    "The label is the law: use a product only on the plants, in the place, at the dose and at the times it is"
    " authorised for, and wear what the label asks for. Only people trained for it use it, with a certificate"
    " where the law asks for one. Keep it locked up, in its own container, away from food, water and seed."
)
MIXING = _l(
    "Never mix products unless both labels allow it, and never mix acids, bleach or other cleaning agents:"
    " poisonous gas forms. Measure and rinse where nothing runs into drains, ditches or the river. Do not spray in"
    " wind, in heat, before rain, or where bees fly."
)
#: Phytosphere Research, Best Management Practices for Producing Clean Nursery Stock, 6.5.6.
HIDING = _l(
    "Products against Phytophthora, phosphites among them, hide its signs and do not end it (Phytosphere Research,"
    " Best Management Practices for Producing Clean Nursery Stock, 6.5.6): plants that look well may carry it to"
    " the river. Clean stock comes from hygiene."
)
#: Regulation (EU) 2016/2031, Art. 14(1), read as it is kept in the law of Great Britain.
NOTIFIABLE = _l(
    "The plant health authority must be told without delay, before you are sure. Leave the plants where they are,"
    " keep people and water away from them, take nothing off the nursery, and clean boots and tools (Regulation"
    " (EU) 2016/2031, Art. 14(1): who suspects a quarantine pest notifies the authority immediately and takes"
    " precautions)."
)
