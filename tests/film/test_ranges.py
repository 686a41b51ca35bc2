import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.film.ranges import Part, Unsatisfiable, Whole, choose

pytestmark = pytest.mark.once

SIZE = 1234
ETAG = '"abc"'


@pytest.mark.parametrize(
    ("header", "wanted"),
    [
        (None, Whole()),
        ("", Whole()),
        ("bytes=0-499", Part(0, 499)),
        ("bytes=500-999", Part(500, 999)),
        ("bytes=500-", Part(500, 1233)),
        ("bytes=-500", Part(734, 1233)),
        ("bytes=0-0", Part(0, 0)),
        ("bytes=0-1", Part(0, 1)),
        ("bytes=0-9999", Part(0, 1233)),
        ("bytes=-5000", Part(0, 1233)),
        ("bytes=1233-", Part(1233, 1233)),
        ("bytes=1234-", Unsatisfiable()),
        ("bytes=1234-2000", Unsatisfiable()),
        ("bytes=-0", Unsatisfiable()),
        ("bytes=499-0", Whole()),
        ("bytes=2000-1999", Whole()),
        ("bytes=abc", Whole()),
        ("bytes=-", Whole()),
        ("bytes=--1", Whole()),
        ("bytes=+1-2", Whole()),
        ("bytes=1-2-3", Whole()),
        ("bytes=١-٢", Whole()),
        ("items=0-1", Whole()),
        ("bytes=0-0,-1", Whole()),
        ("bytes 0-1", Whole()),
        ("Bytes=0-1", Part(0, 1)),
        (" bytes=0-1 ", Part(0, 1)),
        ("bytes=" + "9" * 5000 + "-", Unsatisfiable()),
        ("bytes=0-" + "9" * 5000, Part(0, 1233)),
        ("bytes=" + "0" * 5000 + "5-6", Part(5, 6)),
    ],
)
def test_the_table_of_ranges(header, wanted):
    assert choose(SIZE, header, etag=ETAG) == wanted


def test_lengths_and_the_header_of_a_part():
    assert Part(734, 1233).length == 500
    assert Part(734, 1233).content_range(SIZE) == "bytes 734-1233/1234"


@pytest.mark.parametrize(
    ("etag", "if_range", "is_part"),
    [
        (ETAG, None, True),
        (ETAG, '"abc"', True),
        (ETAG, '"old"', False),
        (ETAG, 'W/"abc"', False),
        (ETAG, "", False),
        (ETAG, "Wed, 25 Nov 2026 10:00:00 GMT", False),
        ('W/"abc"', 'W/"abc"', False),
        ("", '"abc"', False),
        ("", "", False),
    ],
)
def test_if_range_wants_the_same_strong_etag(etag, if_range, is_part):
    chosen = choose(SIZE, "bytes=0-499", etag=etag, if_range=if_range)
    assert chosen == (Part(0, 499) if is_part else Whole())


def test_a_range_is_for_get_only():
    assert choose(SIZE, "bytes=0-499", method="HEAD") == Whole()


def test_an_empty_file_has_no_part():
    for header in ("bytes=0-", "bytes=0-0", "bytes=-1"):
        assert choose(0, header) == Unsatisfiable()


def bytes_asked_for(content, first, last):
    """RFC 9110, 14.1.2, in slices: None where there is no such part."""
    if first is None:
        return content[max(0, len(content) - last) :] if last else None
    return content[first : None if last is None else last + 1] or None


positions = st.one_of(st.integers(0, 60), st.integers(0, 10**30))


@given(size=st.integers(0, 50), first=st.none() | positions, last=st.none() | positions)
def test_any_range_is_the_slice_it_names(size, first, last):
    content = bytes(range(size))
    header = f"bytes={'' if first is None else first}-{'' if last is None else last}"
    chosen = choose(size, header)
    makes_sense = (first, last) != (None, None) and (first is None or last is None or last >= first)
    if not makes_sense:
        assert chosen == Whole()
        return
    wanted = bytes_asked_for(content, first, last)
    if wanted:
        assert isinstance(chosen, Part)
        assert content[chosen.first : chosen.last + 1] == wanted
        assert chosen.length == len(wanted)
    else:
        assert chosen == Unsatisfiable()


@given(st.text(max_size=40), st.integers(0, 10))
def test_no_header_breaks_it(header, size):
    chosen = choose(size, f"bytes={header}")
    assert not isinstance(chosen, Part) or 0 <= chosen.first <= chosen.last < size
