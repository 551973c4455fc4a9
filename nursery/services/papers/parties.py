"""Who supplies and who takes over, as records have them: what papers freeze beside what they print."""

from __future__ import annotations

from collections.abc import Sequence

from nursery.models import Preferences, Recipient

#: Particulars that name somebody.
SUPPLIER, RECIPIENT, OPERATOR = "supplier", "recipient", "passport-b"


def supplier_of(own: Preferences) -> list[str]:
    """Name, address, country and number of the organisation."""
    return [own.organisation, " ".join(own.address.split()), own.country, own.supplier_number]


def recipient_of(taker: Recipient | None) -> list[str]:
    """Name, address and country of whoever takes over; nothing for one's own crew."""
    return [taker.name, " ".join(taker.address.split()), taker.country] if taker is not None else []


def operator_of(own: Preferences) -> list[str]:
    """Country, hyphen and number in the register of operators, as a passport bears them."""
    # Some registers write the country into the number: it is printed once.
    return [f"{own.country}-{own.operator_number.removeprefix(f'{own.country}-')}"]


def parties_of(own: Preferences, taker: Recipient | None, printed: Sequence[str]) -> dict[str, list[str]]:
    """Those whom a paper with such particulars names."""
    named = {SUPPLIER: supplier_of(own), RECIPIENT: recipient_of(taker), OPERATOR: operator_of(own)}
    return {field: told for field, told in named.items() if field in printed}
