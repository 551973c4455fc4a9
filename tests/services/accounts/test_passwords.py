"""What makes a password: its length and how soon it would be guessed, never its kinds of characters."""

from __future__ import annotations

import re

import pytest

from nursery.errors import Invalid
from nursery.services.accounts import passwords

GOOD = "heron willow 47 kettle"

#: Those of twelve characters or more that were read out of SecLists, darkweb2017-top10000 (Passwords,
#: Common-Credentials, read on 1 Dec 2026), among the 10,000 seen most often in what was stolen.
_READ = """
q1w2e3r4t5y6 123456654321 1q2w3e4r5t6y PolniyPizdec0211 PolniyPizdec110211 PolniyPizdec1102 PE#5GZ29PTZMSE
Sojdlg123aljg 111222tianya 1qaz2wsx3edc 123qweasdzxc qwerty123456 megaparol12345 Megaparol12345 MaprCheM56458
123456qwerty 123456123456 startfinding qwertyuiop[] d41d8cd98f00b204e9800998ecf8427e 1q2w3e4r5t6y7u8i9o0p
e10adc3949ba59abbe56e057f20f883e 1b78ef23aa2506f41feecfcc45b66038 YfDbUfNjH10305070
b9399f21060d4b5fcb6d3cf5fea8de s8YLPe9jDPvYM 827ccb0eea8a706c4c34a16891f84e7b 7253497a5e31bd64 g13916055158
qwegta13091990 projectsadminx dfg5Fhg5VGFh1 319f4d26e3c536b5dd871bb2c52e3178 john!20130605at1753
123456789987654321 112233445566 123456789123456789 123456789123 12345678900987654321 seniseviyorum motherfucker
professional TempPassWord Telechargement leavemealone ichliebedich 010203040506 jamesbond007 1qazxsw23edc
qwertyuiop12 qwertyuiop123 playstation3 123321123321 123123123123 111111111111 123qwe123qwe 1q2w3e4r5t6y7u
1q2w3e4r5t6y7u8i9o 1q2w3e4r5t6y7u8i asdfghjkl123 qwerasdfzxcv qazwsxedc123 qazwsxedcrfv qweasdzxc123 zxcasdqwe123
administrator finalfantasy sonyericsson password1234 password12345 123456789abc 123456789asd 123456789qwe
qwertyqwerty 1234567890-= &#9679;&#9679;&#9679;&#9679;&#96
"""
SEEN = _READ.split()


@pytest.mark.parametrize("password", SEEN)
def test_none_of_those_that_others_use_is_taken(password: str) -> None:
    with pytest.raises(Invalid, match="guessed soon"):
        passwords.hashed(password)


@pytest.mark.parametrize(
    ("password", "words"),
    [
        ("short", "at least 12"),
        ("a       b       c", "has 5 characters"),  # several spaces count as one
        ("passwordpassword", "guessed soon"),
        ("qwertyuiop[]", "guessed soon"),
        ("salma@river.example", "guessed soon"),
        ("x" * 129, "at most 128"),
    ],
)
def test_a_weak_password_is_refused_in_words(password: str, words: str) -> None:
    with pytest.raises(Invalid, match=words):
        passwords.hashed(password, known=("Salma", "salma@river.example"))


@pytest.mark.parametrize(
    "password",
    [
        "heronwillowkettle",
        "garça lódão 47 pipa",
        "ねこと柳とやかん橋の月あかり",
        "🌱🦦🪣 otter kettle",
        f"heron willow {'kx' * 57}!",
    ],
)
def test_any_character_may_be_in_it_and_none_must(password: str) -> None:
    assert passwords.fits(passwords.hashed(password), password)


def test_all_of_it_counts_however_long(monkeypatch: pytest.MonkeyPatch) -> None:
    longest = "heron willow kettle " + "abcdefghij" * 10 + "12345678"
    assert len(longest) == passwords.LONGEST
    kept = passwords.hashed(longest)

    assert passwords.fits(kept, longest)
    assert not passwords.fits(kept, longest[:-1])
    assert not passwords.fits(kept, longest + "x")
    assert not passwords.fits(kept, longest[:-1] + "9")


def test_it_fits_from_every_keyboard() -> None:
    """Some systems send an accented letter as two characters, and a space bar may be pressed twice."""
    kept = passwords.hashed("garc\u0327a lo\u0301da\u0303o 47 pipa")

    assert passwords.fits(kept, "gar\u00e7a l\u00f3d\u00e3o  47 pipa")
    assert not passwords.fits(kept, "garca lodao 47 pipa")


def test_the_hash_is_argon2id_of_the_strength_that_is_asked_for() -> None:
    """OWASP ASVS 4.0.3, 2.4.2 and 2.4.5: salt of 32 bits, 15 MiB, two iterations, one lane at least."""
    first, second = passwords.hashed(GOOD), passwords.hashed(GOOD)
    found = re.fullmatch(r"\$argon2id\$v=19\$m=(\d+),t=(\d+),p=(\d+)\$([\w+/]+)\$[\w+/]+", first)
    assert found
    memory_kib, iterations, lanes = map(int, found.groups()[:3])

    assert memory_kib >= 15 * 1024
    assert iterations >= 2
    assert lanes >= 1
    assert len(found[4]) * 6 >= 32
    assert first != second


def test_an_account_without_a_password_lets_nobody_in() -> None:
    assert not passwords.fits("", "the password of nobody at all")
    assert not passwords.fits("", "")
