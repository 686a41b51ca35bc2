import csv
import io
from datetime import date

import pytest

from devplans.people.rosterfile import COLUMNS, MAX_ROWS, TEMPLATE, read_roster

HEAD = "number,first_name,last_name,born_on,grade,player_email,guardian_name,guardian_email"


def read(*lines, head=HEAD, encoding="utf-8"):
    return read_roster("\n".join([head, *lines]).encode(encoding))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("12,,Okafor,,,,,", "first name is missing"),
        ("12,Ines,,,,,,", "last name is missing"),
        ("12,  ,Okafor,,,,,", "first name is missing"),
        ("12,Ines,Okafor,31.03.2012,,,,", "not a date"),
        ("12,Ines,Okafor,2012-02-30,,,,", "not a date"),
        ("1234,Ines,Okafor,,,,,", "longer than 3"),
        (f"12,{'I' * 81},Okafor,,,,,", "longer than 80"),
        ("12,Ines,Okafor,,,,,,,,", "cells for 8 columns"),
    ],
)
def test_a_bad_row_is_named_with_its_line(line, said):
    found = read("7,Runa,Lindqvist,,,,,", line, "9,Hedda,Wolfe,,,,,")
    [(number, reason)] = found.problems
    assert number == 3
    assert said in reason
    assert [row.line for row in found.rows] == [2, 4]
    assert not found.faults


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        (b"\n\n\n", "empty"),
        (HEAD.encode(), "no players"),
        (HEAD.encode() + b"\n\n  \n", "no players"),
        (b"PK\x03\x04\x14\x00rest of a sheet", "spreadsheet"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "spreadsheet"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a CSV"),
        (HEAD.encode() + "\n12,Inès,Okafor,,,,,".encode("latin-1"), "Line 2"),
        ("\ufeff".join(["", HEAD]).encode("utf-16"), "not a CSV"),
        (b"first_name,last_name,shoe_size\nInes,Okafor,44", "Unknown column"),
        (b"first_name,last_name,first_name\nInes,Okafor,Ines", "there twice"),
        (b"first_name,number\nInes,12", "missing: last_name"),
        (b"Ines Okafor\nRuna Lindqvist", "Unknown column"),
        (b'first_name,last_name\n"Ines,Okafor\nRuna,Lindqvist', "not closed"),
        (b"first_name,last_name\n" + b"Ines,Okafor\n" * (MAX_ROWS + 1), "Too many rows"),
        (b"first_name,last_name\n" + b"I" * 300_000, "too large"),
        (b"\x00\x00\x00\x20ftypisom" + b"\xd7\x00" * 200_000, "not a CSV"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(content, said):
    found = read_roster(content)
    assert said in " ".join(found.faults)
    assert found.rows == []
    assert found.problems == []


def test_a_full_row_is_read():
    [row] = read(" 00 , Inès ,Okafor,2012-03-31,8,i@x.example,Marta Okafor,m@x.example").rows
    assert (row.number, row.first_name, row.last_name) == ("00", "Inès", "Okafor")
    assert (row.born_on, row.grade) == (date(2012, 3, 31), "8")
    assert (row.player_email, row.guardian_name, row.guardian_email) == (
        "i@x.example",
        "Marta Okafor",
        "m@x.example",
    )


@pytest.mark.parametrize("head", ["First_Name , LAST_NAME", "\ufefffirst_name,last_name"])
def test_heads_are_taken_as_people_write_them(head):
    assert [row.last_name for row in read("Ines,Okafor", head=head).rows] == ["Okafor"]


def test_semicolons_and_windows_lines_are_read():
    content = "first_name;last_name;number\r\nInes;Okafor;12\r\n\r\nRuna;Lindqvist;7\r\n"
    assert [(row.line, row.number) for row in read_roster(content.encode()).rows] == [
        (2, "12"),
        (4, "7"),
    ]


def test_lines_count_as_an_editor_shows_them():
    """A cell in quotes may hold a line break; the row begins where its first cell does."""
    found = read_roster(b'first_name,last_name\n"Ines\nMaria",Okafor\nRuna,\n')
    assert [row.line for row in found.rows] == [2]
    assert [line for line, _reason in found.problems] == [4]


def test_missing_columns_at_the_end_of_a_row_are_empty():
    assert read("12,Ines,Okafor").rows[0].guardian_email == ""


def test_the_template_has_the_columns_and_no_rows():
    [head] = csv.reader(io.StringIO(TEMPLATE))
    assert tuple(head) == COLUMNS == tuple(HEAD.split(","))
