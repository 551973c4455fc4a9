"""Codes on labels: easy to read aloud, and a slip of the pen is caught.

A lot code is ``QUEX-4227-K``: four letters from the species' name, a character for the ripening year, a running
number of three, and a check character. It uses 23 characters of which no two look alike: of each look-alike group
(0 O D Q, 1 I L J, 2 Z, 5 S, 6 G, 8 B, U V) at most one is kept.

The check is a pure system after ISO/IEC 7064 (the recursion of its MOD 11-2 and MOD 37-2, from memory) with
modulus 23, the size of the alphabet, and radix 2. As 23 is prime and 2 is neither 0 nor 1 modulo 23, every wrong
character and every swap of two neighbours changes the remainder; the check character is always in the alphabet.
"""

from __future__ import annotations

import re
import unicodedata

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from nursery.errors import Invalid
from nursery.i18n import gettext as _

ALPHABET = "234679ACEFHJKMNPQRTUWXY"
MODULUS, RADIX = len(ALPHABET), 2
_SHAPE = re.compile(r"([A-Z0-9]{4})[-\s]?([A-Z0-9]{4})[-\s]?([A-Z0-9])")
#: Codes that a person brings along: letters, digits and a few signs.
_OWN = re.compile(r"[^\W_](?:[\w./ -]{0,22}[^\W_])?")
SERIALS = MODULUS**3
#: PostgreSQL's locks by two numbers: this one, no other of ours, and one made of the stem.
_CODES = 2309


def check_character(body: str) -> str:
    """The character that makes the remainder of the whole code 1."""
    return ALPHABET[(1 - _remainder(body) * RADIX) % MODULUS]


def is_sound(characters: str) -> bool:
    """Whether the last character checks the ones before; false for characters outside the alphabet."""
    return all(c in ALPHABET for c in characters) and _remainder(characters) == 1


def _remainder(characters: str) -> int:
    remainder = 0
    for character in characters:
        remainder = (remainder * RADIX + ALPHABET.index(character)) % MODULUS
    return remainder


def lot_code(scientific_name: str, ripening_year: int, serial: int) -> str:
    """The code of the ``serial``-th lot (from 0) of a species and year."""
    if not 0 <= serial < SERIALS:
        raise ValueError(f"serial {serial} is not below {SERIALS}")
    digits = "".join(ALPHABET[serial // MODULUS**place % MODULUS] for place in (2, 1, 0))
    body = lot_code_stem(scientific_name, ripening_year).replace("-", "") + digits
    return f"{body[:4]}-{body[4:]}-{check_character(body)}"


def lot_code_stem(scientific_name: str, ripening_year: int) -> str:
    """What all lots of a species and year begin with; the year's character comes round after 23 years."""
    return f"{species_letters(scientific_name)}-{ALPHABET[ripening_year % MODULUS]}"


def species_letters(scientific_name: str) -> str:
    """Two letters of the genus and two of the epithet, leaving out those that look like others."""
    genus, *rest = scientific_name.split()
    epithet = rest[-1] if rest else ""
    return _letters(genus) + _letters(epithet)


def _letters(word: str) -> str:
    bare = unicodedata.normalize("NFKD", word).upper()
    return "".join(c for c in bare if c in ALPHABET and c.isalpha())[:2].ljust(2, "X")


def check_lot_code(text: str, *, field: str = "code") -> str:
    """A typed lot code as it is stored; ``Invalid`` when the check character does not fit.

    Codes of another shape than ours are a person's own and are kept as they are, in capitals.
    """
    typed = " ".join(text.upper().split())
    shaped = _SHAPE.fullmatch(typed)
    if shaped is None:
        if _OWN.fullmatch(typed) and typed.isascii():
            return typed
        message = _(
            "“%(code)s” cannot be a code. Use up to 24 letters, digits and - . / or leave it empty to get one.",
            code=text,
        )
        raise Invalid({field: message})
    characters = "".join(shaped.groups())
    strange = [c for c in characters if c not in ALPHABET]
    if strange:
        message = _(
            "“%(code)s” holds “%(character)s”, which no lot code of ours uses because it looks like another."
            " Look at the label again.",
            code=text,
            character=strange[0],
        )
        raise Invalid({field: message})
    if not is_sound(characters):
        message = _(
            "The check character of “%(code)s” does not fit, so one character is wrong or two are swapped."
            " Look at the label again, or leave the code empty to get a new one.",
            code=text,
        )
        raise Invalid({field: message})
    return "-".join(shaped.groups())


def next_lot_code(session: Session, column: InstrumentedAttribute[str], scientific_name: str, year: int) -> str:
    """The first code after all given out for a species and year."""
    stem = lot_code_stem(scientific_name, year)
    _in_turn(session, stem)
    used = [
        code.replace("-", "")[5:8]
        for code in session.scalars(select(column).where(column.startswith(stem, autoescape=True)))
        if _SHAPE.fullmatch(code) and is_sound(code.replace("-", ""))
    ]
    serial = 1 + max((_serial(part) for part in used), default=0)
    if serial >= SERIALS:
        raise Invalid({"code": _("All codes of this species and year are given out. Type one of your own.")})
    return lot_code(scientific_name, year, serial)


def _in_turn(session: Session, stem: str) -> None:
    """Whoever asks next for a code after this stem waits until this transaction ends, and then sees what it gave.

    SQLite lets one transaction write at a time anyway.
    """
    if session.get_bind().dialect.name == "postgresql":
        session.execute(select(func.pg_advisory_xact_lock(_CODES, func.hashtext(stem))))


def _serial(part: str) -> int:
    value = 0
    for character in part:
        value = value * MODULUS + ALPHABET.index(character)
    return value


def next_code(session: Session, column: InstrumentedAttribute[str], stem: str, digits: int = 3) -> str:
    """The next running code after ``stem``: ``P-014`` after ``P-013``; longer once the digits are used up."""
    _in_turn(session, stem)
    last = session.scalars(
        select(column)
        .where(column.startswith(stem, autoescape=True))
        .order_by(func.length(column).desc(), column.desc())
        .limit(50)
    )
    numbers = [int(rest) for code in last if (rest := code[len(stem) :]).isascii() and rest.isdigit()]
    return f"{stem}{max(numbers, default=0) + 1:0{digits}d}"
