import pytest
from hypothesis import given
from hypothesis import strategies as st

from devplans.talkthrough.rosters import BadRoster, name_parts, read_roster
from devplans.talkthrough.understand.parts import RosterPlayer

pytestmark = pytest.mark.once


def test_a_roster_is_read_with_nicknames_aliases_and_numbers_that_are_text():
    text = (
        "\ufeffnumber,name,heard_as\r\n"
        '12,Maeve "Mo" Okonjo,mauve; maeve o conjo ;\r\n'
        '00,"Reed, Tamsin (Tam)",\r\n'
        "0,Anna van der Berg\r\n"
        "\r\n"
        "#7,Chase,chased\r\n"
        ",Hope Lind,\r\n"
    )
    assert read_roster(text) == [
        RosterPlayer("12", "12", "Maeve", "Okonjo", ("Mo",), ("mauve", "maeve o conjo")),
        RosterPlayer("00", "00", "Tamsin", "Reed", ("Tam",)),
        RosterPlayer("0", "0", "Anna", "van der Berg"),
        RosterPlayer("7", "7", "Chase", "", (), ("chased",)),
        RosterPlayer("Hope Lind", "", "Hope", "Lind"),
    ]


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("Maeve “Mo” Okonjo", ("Maeve", "Okonjo", ("Mo",))),
        ("Siobhan O'Hara", ("Siobhan", "O'Hara", ())),
        ("Niamh 'Nee' D'Arcy", ("Niamh", "D'Arcy", ("Nee",))),
        ("Okonjo, Maeve (Mo; Mimi)", ("Maeve", "Okonjo", ("Mo", "Mimi"))),
        ("Reed Miles Jr.", ("Reed", "Miles", ())),
        ("", ("", "", ())),
    ],
)
def test_names_are_taken_apart(name, parts):
    assert name_parts(name) == parts


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("4,Tamsin Reed\n", [("4", "Tamsin", ())]),
        ("name;number;heard_as\nTamsin Reed;4;tam's in\n", [("4", "Tamsin", ("tam's in",))]),
        ("Name\tNumber\nTamsin Reed\t4\n", [("4", "Tamsin", ())]),
        ("number,name,position\n4,Tamsin Reed,guard\n", [("4", "Tamsin", ())]),
    ],
)
def test_columns_may_stand_in_another_order_and_be_parted_otherwise(text, rows):
    assert [(one.key, one.first, one.heard_as) for one in read_roster(text)] == rows


@pytest.mark.parametrize(
    ("text", "line", "why"),
    [
        ("", 0, "no player"),
        ("number,name,heard_as\n", 0, "no player"),
        ("number,name\n4,A B\n12b,C D\n", 3, "no number"),
        ("number,name\n4,A B\n\n4,C D\n", 4, "line 2"),
        (",A B\n,A B\n", 2, "name of line 1"),
        ("number,name,heard_as\n4,Reed, Tamsin,tam's in\n", 2, "in quotes"),
        ("number,first_name\n4,A\n", 1, "no column"),
        ("number,name,heard_as\n,,alias\n", 2, "neither"),
        ("\n".join(f",A{one} B" for one in range(201)), 201, "more than 200"),
        ("x" * 300_000, 0, "longer"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text, line, why):
    with pytest.raises(BadRoster, match=why) as caught:
        read_roster(text)
    assert caught.value.line == line


@given(st.text(max_size=400))
def test_any_text_is_a_roster_or_says_why_not(text):
    try:
        players = read_roster(text)
    except BadRoster:
        return
    assert len({one.key for one in players}) == len(players) > 0
