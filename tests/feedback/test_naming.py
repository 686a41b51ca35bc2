"""Names and labelled numbers in words."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.feedback.naming import Named, find, folded, mask, single_names

INES = Named("Inès", "Okafor", ("12",))
RUNA = Named("Runa", "Lindqvist", ("7",))
WILL = Named("Will", "Long", ("31",))
ANNA = Named("Anna-Lena", "de la Cruz", ("00",))


@pytest.mark.parametrize(
    ("said", "masked"),
    [
        ("You stayed home; Runa had to come.", "You stayed home; a team-mate had to come."),
        ("Runa had to come over alone.", "A team-mate had to come over alone."),
        ("See Runa’s cut", "See a team-mate's cut"),
        ("Late. RUNA LINDQVIST is open", "Late. A team-mate is open"),
        ("pass to lindqvist early", "pass to a team-mate early"),
        ("pass to Runa L. early", "pass to a team-mate early"),
        ("pass to R. Lindqvist early", "pass to a team-mate early"),
        ("help number 7 here", "help a team-mate here"),
        ("help #7's man", "help a team-mate's man"),
        ("help No. 7 here", "help a team-mate here"),
        ("help no 7 here", "help a team-mate here"),
        ("help number seven here", "help a team-mate here"),
        ("help 7 Runa (7) here", "help a team-mate here"),
        ("your team-mate Runa is open", "your team-mate is open"),
        ("our Runa's man", "our team-mate's man"),
        ("Runa, who is number 7, cuts", "A team-mate, who is a team-mate, cuts"),
        ("the Lindqvists talk", "the team-mates talk"),
        ("Ru\u200bna cuts", "A team-mate cuts"),
        ("hit the number 77 sign in 7 seconds", "hit the number 77 sign in 7 seconds"),
        ("a prunage", "a prunage"),
    ],
)
def test_one_team_mate_is_masked(said, masked):
    assert mask(said, [RUNA]) == masked


def test_several_in_a_list_are_team_mates():
    assert mask("Runa and Will trail the ball", [RUNA, WILL]) == "Team-mates trail the ball"
    assert mask("numbers 7 and 12 trail", [RUNA]) == "A team-mate and number 12 trail"
    assert mask("behind numbers 7, 12 and 31", [RUNA, WILL]) == (
        "behind a team-mate, number 12 and a team-mate"
    )


def test_accents_do_not_hide_a_name():
    for said in ("INES runs", "Inés runs", unicodedata.normalize("NFD", "Inès runs")):
        assert mask(said, [INES]) == "A team-mate runs"


def test_double_names_are_masked_in_their_parts():
    assert mask("see Lena cut, Cruz follows", [ANNA]) == "see a team-mate cut, a team-mate follows"
    assert mask("help number 00, not number 0", [ANNA]) == "help a team-mate, not number 0"
    assert mask("look at la ligne de fond", [ANNA]) == "look at la ligne de fond"


def test_everyday_words_are_only_meant_with_a_capital_where_care_is_asked():
    assert find("I will go long", [WILL], careful=True) == []
    assert [one.words for one in find("go with Will", [WILL], careful=True)] == ["Will"]
    assert "will" not in mask("I will go", [WILL])


def test_the_reader_keeps_his_own_full_name():
    luc = Named("Luc", "Okafor", ("4",))
    said = "Inès Okafor beats Luc Okafor"
    assert mask(said, [luc], keep=INES) == "Inès Okafor beats a team-mate"


def test_a_name_inside_the_replacement_gets_another_word():
    mate = Named("Mate", "Team", ())
    assert "mate" not in mask("Mate cuts", [mate]).casefold()


names = st.text("abcdefghijklmnoéøüßşğñ'-", min_size=2, max_size=9).filter(
    lambda name: (
        len(folded(name).strip("'- ")) > 1
        and folded(name)[0].isalpha()
        and folded(name)[-1].isalpha()
    )
)
people = st.builds(
    Named, names, names, st.lists(st.integers(0, 99).map(str), max_size=2).map(tuple)
)
FILLER = [
    "had to come",
    "over alone.",
    "and",
    ",",
    "no",
    "number",
    "the",
    "7",
    "(",
    ")",
    "'s",
    "\n",
]


@given(st.lists(people, min_size=1, max_size=3), st.data())
def test_no_name_is_left(who, draw):
    """Whatever the words are: no name, in any case or accent, between letters' edges."""
    told = [name for one in who for name in (one.first_name, one.last_name)]
    told += [f"#{number}" for one in who for number in one.numbers]
    told += [f"number {number}" for one in who for number in one.numbers]
    told += [name.upper() for name in told]
    words = draw.draw(st.lists(st.sampled_from(told + FILLER), max_size=12))
    masked = mask(" ".join(words), who)
    assert find(masked, who) == []
    plain = folded(masked)
    for one in who:
        for name in single_names(one):
            at = plain.find(name)
            while at >= 0:
                before, after = plain[at - 1 : at], plain[at + len(name) : at + len(name) + 1]
                assert before.isalpha() or after.isalpha(), (masked, name)
                at = plain.find(name, at + 1)


@given(st.text(max_size=80), st.lists(people, max_size=3))
def test_any_text_can_be_masked_and_without_a_name_stays_as_it_was(text, who):
    if "numbers" not in folded(text) and not find(text, who):
        assert mask(text, who) == text
    else:
        assert find(mask(text, who), who) == []


def test_lists_of_other_numbers_stay_as_they_were():
    assert mask("numbers 3 and 4 trail", [RUNA]) == "numbers 3 and 4 trail"
