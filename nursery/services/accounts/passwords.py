"""Passwords: what is strong enough, and Argon2id hashes.

Length rather than composition, and a look-up of what others guess first, as NIST SP 800-63B and OWASP ASVS 4.0.3
(V2.1) ask. The parameters of Argon2id are the library's own, which follow RFC 9106 for machines short of memory.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from nursery.errors import Invalid
from nursery.i18n import gettext as _
from nursery.services.heavy import argon2

LENGTH = 12
#: Longer ones are denied (ASVS 2.1.2): they would only cost the server time.
LONGEST = 128
#: Guesses that a password must stand, as a power of ten.
STANDS_LOG10 = 10
#: Long ones among the 10,000 that were seen most often (SecLists, darkweb2017-top10000) which guesses by word and
#: pattern do not find; in small letters.
OFTEN_SEEN = frozenset({
    "polniypizdec1102", "pe#5gz29ptzmse", "d41d8cd98f00b204e9800998ecf8427e", "e10adc3949ba59abbe56e057f20f883e",
    "1b78ef23aa2506f41feecfcc45b66038", "yfdbufnjh10305070", "b9399f21060d4b5fcb6d3cf5fea8de", "s8ylpe9jdpvym",
    "827ccb0eea8a706c4c34a16891f84e7b", "7253497a5e31bd64", "g13916055158", "qwegta13091990", "dfg5fhg5vgfh1",
    "319f4d26e3c536b5dd871bb2c52e3178", "john!20130605at1753", "seniseviyorum", "telechargement", "ichliebedich",
    "megaparol12345", "&#9679;&#9679;&#9679;&#9679;&#96", "концертных площадок и умных студентов:",
})  # fmt: skip


@lru_cache
def _hasher() -> argon2.PasswordHasher:
    return argon2.PasswordHasher()


def hashed(password: str, *, field: str = "password", known: tuple[str, ...] = ()) -> str:
    """The hash of a new password that is strong enough; ``known`` is what anybody knows of the person.

    Raises
    ------
    Invalid
        When it is too short, too long, or among the first that somebody would guess.
    """
    password = _one_way_of_writing(password)
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
    password = _one_way_of_writing(password)
    is_known = bool(kept) and len(password) <= LONGEST
    try:
        return _hasher().verify(kept if is_known else _nobody(), password[:LONGEST]) and is_known
    except (argon2.exceptions.VerificationError, argon2.exceptions.InvalidHashError):
        return False


def is_dated(kept: str) -> bool:
    """Whether the hash was made with other parameters than today's, and is to be made anew."""
    return _hasher().check_needs_rehash(kept)


def _is_easily_guessed(password: str, known: tuple[str, ...]) -> bool:
    if password.lower() in OFTEN_SEEN:
        return True
    from zxcvbn import zxcvbn  # noqa: PLC0415 -- its word lists are slow to load

    parts = [part.lower() for text in known for part in re.split(r"\W+", text) if len(part) > 2]
    rest = re.sub("|".join((*map(re.escape, parts), r"\W")), "", password.lower())
    if len(rest) < LENGTH // 2:
        return True
    # It looks at the beginning only: its time grows with the square of the length.
    return bool(zxcvbn(password[:72], user_inputs=parts)["guesses_log10"] < STANDS_LOG10)


def _one_way_of_writing(password: str) -> str:
    """Letters as every keyboard and system sends them, and one space where there are several."""
    return re.sub(" +", " ", unicodedata.normalize("NFKC", password))


@lru_cache
def _nobody() -> str:
    return _hasher().hash("the password of nobody at all")
