"""The signs of a code, and the words for a phone."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.people import codes, handsets

pytestmark = pytest.mark.once
ANDROID = (
    "Mozilla/5.0 (Linux; Android 14; Pixel 7) AppleWebKit/537.36 (KHTML, like Gecko) "
    "Chrome/126.0.0.0 Mobile Safari/537.36"
)
FRESH = st.builds(codes.new_code)


def test_a_code_has_130_random_bits_and_none_comes_twice():
    assert codes.RANDOM_SIGNS * 5 >= 128
    assert len({codes.new_code() for _time in range(2_000)}) == 2_000


@given(FRESH)
def test_a_code_is_read_however_it_is_typed(code):
    spoken = "-".join(codes.grouped(code)).lower().replace("0", "o").replace("1", "l")
    assert codes.tidy(f"  {spoken} ") == code
    assert codes.grouped(code) == [code[at : at + 4] for at in range(0, 28, 4)]


@given(FRESH, st.integers(0, 27), st.sampled_from(codes.SIGNS))
def test_one_wrong_sign_is_noticed(code, place, sign):
    if code[place] != sign:
        with pytest.raises(ValueError, match="signs"):
            codes.tidy(code[:place] + sign + code[place + 1 :])


@given(FRESH, st.integers(0, 24))
def test_two_swapped_signs_are_noticed(code, place):
    one, other = code[place : place + 2]
    if one != other:
        with pytest.raises(ValueError, match="signs"):
            codes.tidy(code[:place] + other + one + code[place + 2 :])


@given(st.text(max_size=80))
def test_anything_else_is_no_code(text):
    try:
        code = codes.tidy(text)
    except ValueError:
        return
    assert len(code) == 28


@pytest.mark.parametrize(
    ("user_agent", "name"),
    [
        (ANDROID, "Android phone, Chrome"),
        (ANDROID.replace(" Mobile", ""), "Android tablet, Chrome"),
        (ANDROID.replace("Chrome/", "OPR/80 Chrome/"), "Android phone, Opera"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5) Version/17.5 Safari/604.1", "iPhone, Safari"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5) CriOS/126.0 Safari/604.1", "iPhone, Chrome"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/126 Safari/537 Edg/126", "Windows computer, Edge"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:127.0) Firefox/127.0", "Linux computer, Firefox"),
        ("<script>alert(1)</script>" * 99, "Phone"),
        ("", "Phone"),
    ],
)
def test_a_phone_has_a_name_that_its_owner_knows(user_agent, name):
    assert handsets.name_of(user_agent) == name
