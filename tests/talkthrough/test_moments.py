"""Talk cut into moments, and who they are about."""

import csv

import pytest

from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import Cue, RosterPlayer
from tests.talkthrough import cutting, told_moments

pytestmark = pytest.mark.once

ROSTER = [
    RosterPlayer("12", "12", "Maeve", "Okonjo", ("Mo",)),
    RosterPlayer("4", "4", "Tamsin", "Reed"),
    RosterPlayer("7", "7", "Priya", "Raman"),
    RosterPlayer("00", "00", "Ingrid", "Sorensen"),
]


def told(*parts):
    """(text, silence before it in seconds) one after another, four words a second."""
    cues, clock = [], 1_000
    for text, silence in parts:
        clock += round(1_000 * silence)
        end = clock + 250 * len(text.split())
        cues.append(Cue(clock, end, text))
        clock = end
    return understand(cues, ROSTER)


def players(understood):
    return [set(one.players) for one in understood.suggestions]


CUTS = [
    # a sentence each, another player
    ([("Maeve, you fly past her.", 0), ("Tamsin talks early, lovely.", 0.4)], [{"12"}, {"4"}]),
    # two players with two verdicts in one breath
    ([("Maeve is late there, but Tamsin covers the rim, brilliant.", 0)], [{"12"}, {"4"}]),
    # the answer comes behind a pause
    ([("Maeve, you're standing straight up.", 0), ("Get down in a stance.", 3)], [{"12"}]),
    # the name comes at the end
    ([("Great closeout there.", 0), ("That's Maeve.", 0.4)], [{"12"}]),
    # both of them
    ([("Maeve and Tamsin, both of you are ball watching.", 0)], [{"12", "4"}]),
    # somebody is mentioned, and not judged
    ([("Maeve, you leave Tamsin hanging there.", 0)], [{"12"}]),
    # "you" carries on after a pause
    ([("Maeve, great stop.", 0), ("And here you get over the screen, excellent.", 6)],
     [{"12"}, {"12"}]),
    # taken back
    ([("Tamsin, no, sorry, Maeve, you forgot to box out.", 0)], [{"12"}]),
]  # fmt: skip


@pytest.mark.parametrize(("parts", "wanted"), CUTS)
def test_who_a_moment_is_about(parts, wanted):
    assert players(told(*parts)) == wanted


def test_who_only_gets_the_ball_is_not_judged():
    (one,) = told(("Priya sees it early and passes it to Tamsin. Lovely.", 0)).suggestions
    assert "4" not in one.players
    assert "7" in (*one.players, *one.unsure)[:1]


LEFT = [
    ("Their number twelve hits a three there.", "other side"),
    ("Right, third quarter, we go in at the half up by six.", "the day"),
    ("We didn't rebound as a team all night.", "whole team"),
]


@pytest.mark.parametrize(("text", "why"), LEFT)
def test_what_is_left_out_says_why(text, why):
    understood = told((text, 0))
    assert understood.suggestions == ()
    assert [why in one.why for one in understood.left_out] == [True]


def test_team_talk_between_two_clips_is_left_out():
    understood = told(
        ("Maeve, lovely seal.", 0),
        ("We were up by ten at this point.", 8),
        ("Tamsin, why are you standing?", 8),
    )
    assert players(understood) == [{"12"}, {"4"}]
    assert [one.said for one in understood.left_out] == ["We were up by ten at this point."]
    assert [one.verdict for one in understood.suggestions] == ["did_it", "not_yet"]


@pytest.mark.long
def test_the_moments_of_whole_talks_are_among_the_examples():
    assert told_moments.as_csv() == told_moments.MOMENTS.read_text(encoding="utf-8")


@pytest.mark.soak
@pytest.mark.timeout(900)
def test_the_weights_are_what_the_talks_teach(tmp_path, monkeypatch):
    kept = {name: weights_in(getattr(cutting, name)) for name in ("CUT_WEIGHTS", "LINK_WEIGHTS")}
    for name in kept:
        monkeypatch.setattr(cutting, name, tmp_path / f"{name}.csv")
    cutting.main([])
    for name, before in kept.items():
        after = weights_in(tmp_path / f"{name}.csv")
        assert len(before) > 1_000
        # Another machine adds up in another order: weights may differ by a little.
        for trait in before.keys() | after.keys():
            assert abs(before.get(trait, 0) - after.get(trait, 0)) <= 2 * cutting.LEAST, trait


def weights_in(path):
    with path.open(encoding="utf-8") as rows:
        return {row["trait"]: float(row["weight"]) for row in csv.DictReader(rows)}
