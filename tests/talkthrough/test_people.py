"""Who is spoken of: names by letters and by ear, everyday words, numbers, opponents."""

import time

import pytest

from devplans.talkthrough.understand.parts import Cue, RosterPlayer
from devplans.talkthrough.understand.people import Finder, Mention
from devplans.talkthrough.understand.words import words_of
from tests.talkthrough.people_cases import NAMES, NUMBERS, ROSTERS

pytestmark = pytest.mark.once

FINDERS = {name: Finder(roster) for name, roster in ROSTERS.items()}


def found(roster: str, text: str) -> list[Mention]:
    return FINDERS[roster].mentions(words_of([Cue(0, 400 * len(text.split()), text)]))


@pytest.mark.parametrize(("roster", "text", "keys"), [*NAMES, *NUMBERS])
def test_who_is_certainly_meant(roster: str, text: str, keys: str) -> None:
    sure = [one.keys[0] for one in found(roster, text) if one.sure and one.keys]
    assert sure == keys.split()


@pytest.mark.parametrize(
    ("roster", "text", "keys"),
    [
        ("twins", "ella is late", {"3", "8"}),
        ("numbers", "three is late", {"3"}),
    ],
)
def test_doubt_is_said(roster: str, text: str, keys: set[str]) -> None:
    (one,) = found(roster, text)
    assert not one.sure
    assert set(one.keys) == keys


@pytest.mark.parametrize(
    ("roster", "text", "kind"),
    [
        ("numbers", "their twenty one is a shooter", "opponent"),
        ("numbers", "fourteen in white beats us", "opponent"),
        ("numbers", "number ninety is late", "unknown"),
        ("twins", "their Maeve hits the three", "opponent"),
        ("ear", "then Petrillo gets hot", "unknown"),
    ],
)
def test_others_are_marked_and_have_no_key(roster: str, text: str, kind: str) -> None:
    assert [(one.kind, one.keys) for one in found(roster, text)] == [(kind, ())]


def test_an_hour_of_talk_takes_seconds_and_grows_with_its_length() -> None:
    said = [text for roster, text, _ in [*NAMES, *NUMBERS] if roster in ("many", "words")]
    lines = [f"{text} clip {index} okay" for index in range(12) for text in said]
    cues = [Cue(4000 * place, 4000 * place + 3500, text) for place, text in enumerate(lines)]

    def seconds(part: int) -> float:
        finder = Finder(ROSTERS["many"])
        start = time.perf_counter()
        finder.mentions(words_of(cues[: len(cues) // part]))
        return time.perf_counter() - start

    seconds(12)
    short, long = seconds(4), seconds(1)
    assert long < 20
    assert long < 4.5 * short + 0.5


@pytest.mark.parametrize(
    ("text", "faint"),
    [("hope is late", []), ("we hope it goes in", []), ("look at hope there", ["hope"])],
)
def test_a_name_that_may_be_a_plain_word_is_faint(text: str, faint: list[str]) -> None:
    """Only what is learned may still make a player of it."""
    words = words_of([Cue(0, 400 * len(text.split()), text)])
    finder = Finder([RosterPlayer("7", "7", "Hope", "Castellan")])
    firm, kept = finder.heard(words)
    assert [words[one.first].folded for one in kept] == faint
    assert finder.mentions(words) == firm
    assert {one.kind for one in kept} <= {"faint"}
