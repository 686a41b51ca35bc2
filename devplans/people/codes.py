"""The code that signs a phone in: 26 random signs and two that catch a slip of the finger. Pure.

The signs are figures and letters without I, L, O and U, so that nothing looks like something else.
"""

import secrets

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
RANDOM_SIGNS = 26  # of 5 bits each: 130
GROUP = 4
LOOKALIKES = str.maketrans({"O": "0", "I": "1", "L": "1"})
# The largest prime that two signs hold: one wrong sign, or two swapped, never divide alike.
MODULUS = 1021


def new_code() -> str:
    """A fresh code of 28 signs, 130 bits of them random."""
    body = "".join(secrets.choice(SIGNS) for _sign in range(RANDOM_SIGNS))
    return body + _check(body)


def tidy(text: str) -> str:
    """The code in what somebody typed: case, spaces and hyphens do not matter, O is 0, I and L
    are 1. Raises ValueError where the signs cannot be a code."""
    code = "".join(sign for sign in text.upper() if sign not in " -.·\u00a0\t\r\n")
    code = code.translate(LOOKALIKES)
    if len(code) != RANDOM_SIGNS + 2 or any(sign not in SIGNS for sign in code):
        raise ValueError("not the signs of a code")
    if _check(code[:RANDOM_SIGNS]) != code[RANDOM_SIGNS:]:
        raise ValueError("the last two signs do not fit the others")
    return code


def grouped(code: str) -> list[str]:
    """The code in groups that can be read aloud."""
    return [code[at : at + GROUP] for at in range(0, len(code), GROUP)]


def _check(body: str) -> str:
    value = 0
    for sign in body:
        value = value * len(SIGNS) + SIGNS.index(sign)
    return SIGNS[value % MODULUS // len(SIGNS)] + SIGNS[value % MODULUS % len(SIGNS)]
