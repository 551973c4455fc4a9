"""Passwords: what is strong enough, and Argon2id hashes.

Length rather than composition, and a look-up of what others guess first, as NIST SP 800-63B asks of memorised
secrets. The parameters of Argon2id are the library's own, which follow RFC 9106 for machines short of memory.
"""

from __future__ import annotations

import re
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from nursery.errors import Invalid
from nursery.i18n import gettext as _

LENGTH = 12
#: Longer ones would only cost the server time.
LONGEST = 200
#: Guesses that a password must stand, as a power of ten.
STANDS_LOG10 = 10


@lru_cache
def _hasher() -> PasswordHasher:
    return PasswordHasher()


def hashed(password: str, *, field: str = "password", known: tuple[str, ...] = ()) -> str:
    """The hash of a new password that is strong enough; ``known`` is what anybody knows of the person.

    Raises
    ------
    Invalid
        When it is too short, too long, or among the first that somebody would guess.
    """
    if len(password) < LENGTH:
        raise Invalid(
            {field: _("The password has %(has)s characters and needs at least %(least)s. Three or four words that"
                      " have nothing to do with each other are easy to keep.", has=len(password), least=LENGTH)}
        )  # fmt: skip
    if len(password) > LONGEST:
        raise Invalid({field: _("A password has at most %(most)s characters.", most=LONGEST)})
    if _is_easily_guessed(password, known):
        raise Invalid(
            {field: _("This password would be guessed soon: it holds a well-known word, name or row of keys. Take"
                      " words that have nothing to do with each other, or with you.")}
        )  # fmt: skip
    return _hasher().hash(password)


def fits(kept: str, password: str) -> bool:
    """Whether the password is the one that was hashed. An account without one takes as long to say no."""
    try:
        return _hasher().verify(kept or _nobody(), password[:LONGEST]) and bool(kept)
    except (VerificationError, InvalidHashError):
        return False


def is_dated(kept: str) -> bool:
    """Whether the hash was made with other parameters than today's, and is to be made anew."""
    return _hasher().check_needs_rehash(kept)


def _is_easily_guessed(password: str, known: tuple[str, ...]) -> bool:
    from zxcvbn import zxcvbn  # noqa: PLC0415 -- its word lists are slow to load

    parts = [part.lower() for text in known for part in re.split(r"\W+", text) if len(part) > 2]
    rest = re.sub("|".join((*map(re.escape, parts), r"\W")), "", password.lower())
    if len(rest) < LENGTH // 2:
        return True
    # It looks at the beginning only: its time grows with the square of the length.
    return bool(zxcvbn(password[:72], user_inputs=parts)["guesses_log10"] < STANDS_LOG10)


@lru_cache
def _nobody() -> str:
    return _hasher().hash("the password of nobody at all")
