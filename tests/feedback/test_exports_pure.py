"""The open formats by themselves: the vectors of the standards, and round trips of any words."""

import csv
import io
import json
import time
from dataclasses import replace
from uuid import UUID

import jsonschema
import pytest
import webvtt as third_party
from hypothesis import example, given
from hypothesis import strategies as st
from pyld import jsonld

from devplans.feedback import annotation, csvfile, fragments, webvtt
from devplans.feedback.noted import MOST_BYTES, Noted, Who
from tests.feedback import annotation_rules

pytestmark = pytest.mark.once

COLLECTION = jsonschema.Draft202012Validator(annotation_rules.COLLECTION)
SOURCE, ADDRESS = "https://club.example/films/7/", "https://club.example/api/7/comments.jsonld"
# Whatever a person can type; NUL and half pairs are in no text that a database keeps.
TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=40)
HARD = st.lists(
    st.sampled_from(
        [
            "-->", "&", "<", ">", "\n", "\n\n", "\r\n", "\r", " ", "\t", "|", ",", ";", "\\", "'",
            '"', "=1+1", "@", "Next time:", "NOTE", "WEBVTT", "#12", "&#10;", "&amp;", "<v A>",
            "👟", "مرحبا", "‏", "é", "00:01.000 --> 00:02.000", "one moment", "\x0b", "\x85",
            "\u2028", "﻿",
        ]
    ),
    max_size=6,
).map("".join)  # fmt: skip
WORDS = st.one_of(TEXT, HARD)
PLAYERS = st.builds(
    Who,
    st.sampled_from(["", "0", "00", "12", "7A"]),
    WORDS,
).filter(lambda one: bool(one.label))


@st.composite
def comments(draw):
    start = draw(st.integers(0, 10 * 3_600_000))
    length = draw(st.one_of(st.none(), st.integers(1, 3_600_000)))
    return Noted(
        str(draw(st.uuids())),
        start,
        None if length is None else start + length,
        tuple(draw(st.lists(PLAYERS, max_size=3))),
        draw(st.from_regex(r"[a-z0-9]+(-[a-z0-9]+)*", fullmatch=True)),
        draw(st.sampled_from(["did_it", "not_yet", "note"])),
        draw(WORDS),
        draw(WORDS),
    )


def by_time(found):
    return sorted(found, key=lambda one: (one.start_ms, one.id))


# --- WebVTT ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "is_valid"),
    [
        ("00:01.000 --> 00:04.000", True),
        ("00:00:01.000 --> 00:00:04.000", True),
        ("100:00:00.000 --> 100:00:01.000", True),
        ("1:00:00.000 --> 1:00:01.000", False),
        ("00:00:01,000 --> 00:00:04,000", False),
        ("00:60.000 --> 01:01.000", False),
        ("00:04.000 --> 00:04.000", False),
    ],
)
def test_the_timing_lines_of_the_grammar(line, is_valid):
    found = webvtt.read(f"WEBVTT\n\n{line}\nWords\n")
    assert (len(found.comments), len(found.problems)) == ((1, 0) if is_valid else (0, 1))


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0, "00:00.000"), (59.9996, "01:00.000"), (3599.9996, "01:00:00.000"),
        (12.5, "00:12.500"), (360_000, "100:00:00.000"),
    ],
)  # fmt: skip
def test_stamps_are_rounded_with_a_carry(seconds, told):
    assert webvtt.stamp_of_seconds(seconds) == told
    assert webvtt.parse_stamp(told) == round(seconds * 1000)


@given(st.integers(0, 10**9))
def test_every_millisecond_has_its_stamp(ms):
    assert webvtt.parse_stamp(webvtt.stamp(ms)) == ms


@given(st.lists(comments(), max_size=5, unique_by=lambda one: one.id))
@example([Noted(str(UUID(int=1)), 0, None, (Who("12"),), "a", "note", "Next time: x\n\ny", "\n")])
def test_a_webvtt_file_gives_back_what_it_was_given(given_ones):
    text = webvtt.written(given_ones, note="Film --> 7\nof us")
    found = webvtt.read(text)
    assert found.problems == []
    assert found.comments == by_time(given_ones)
    assert webvtt.read_bytes(text.encode()).comments == found.comments
    arrows = [line for line in text.split("\n") if "-->" in line]
    assert len(arrows) == len(given_ones)


@given(st.lists(comments(), min_size=1, max_size=4, unique_by=lambda one: one.id))
def test_a_third_partys_reader_reads_the_same_cues(given_ones):
    cues = third_party.from_string(webvtt.written(given_ones, note="A film"))
    told = [(cue.identifier, cue.start_in_seconds, cue.end_in_seconds) for cue in cues]
    assert len(told) == len(given_ones)
    for cue, one in zip(cues, by_time(given_ones), strict=True):
        assert cue.identifier == one.id
        assert webvtt.parse_stamp(cue.start.removeprefix("00:")) == one.start_ms
        end = one.start_ms + 3_000 if one.end_ms is None else one.end_ms
        assert webvtt.parse_stamp(cue.end.removeprefix("00:")) == end


def test_possessions_are_chapters():
    stretches = [
        webvtt.Stretch("b", "theirs", 9_000, 21_000), webvtt.Stretch("a", "ours", 0, 9_000),
        webvtt.Stretch("c", "ours", 21_000, 4_000_000),
    ]  # fmt: skip
    cues = third_party.from_string(webvtt.chapters(stretches, note="A film"))
    assert [cue.text for cue in cues] == ["Our ball 1", "Their ball 1", "Our ball 2"]
    assert cues[2].end == "01:06:40.000"
    rows = list(csv.DictReader(io.StringIO(csvfile.possessions(stretches))))
    assert [(row["side"], row["start_ms"]) for row in rows][:2] == [
        ("ours", "0"),
        ("theirs", "9000"),
    ]


def test_cues_of_others_become_notes():
    text = (
        "WEBVTT - some film\r\nKind: captions\r\n\r\nSTYLE\r\n::cue {}\r\n\r\nNOTE nothing\r\n\r\n"
        "1\r\n00:01.000 --> 00:02.500 align:start\r\n<v Ines>Late &amp; <b>high</b>, #7\r\n"
        "Next time: go\r\n\r\n00:05.000 --> 00:06.000\r\nTwo\r\nlines"
    )
    first, second = webvtt.read(text).comments
    assert (first.id, first.start_ms, first.end_ms, first.verdict) == ("1", 1_000, 2_500, "note")
    assert first.players == (Who("", "Ines"), Who("7"))
    assert (first.happened, first.do_instead) == ("Late & high, #7", "go")
    assert (second.happened, second.line) == ("Two\nlines", 14)


def test_broken_lines_are_named_and_the_rest_is_kept():
    text = "\n".join(
        [
            "WEBVTT", "", "00:01.000 --> 00:02.000", "Good", "", "Only words", "",
            "00:00:05,000 --> 00:00:06,000", "Comma", "", "1:00:00.000 --> 1:00:01.000", "Hour", "",
            "00:75.000 --> 01:00.000", "Sixty", "", "00:09.000 --> 00:08.000", "Order", "",
            "00:10.000 --> soon", "Stamp", "", "x", "00:11.000 --> 00:12.000", "No blank line",
            "00:13.000 --> 00:14.000", "Good too",
        ]
    )  # fmt: skip
    found = webvtt.read(text)
    assert [one.happened for one in found.comments] == ["Good", "No blank line", "Good too"]
    assert [(problem.line, problem.reason) for problem in found.problems] == [
        (6, "timing"), (8, "comma"), (11, "hour"), (14, "sixty"), (17, "order"), (20, "stamp"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "signature"), (b"WEBVTTX\n\n", "signature"), (b"1\n00:01,000 -->", "signature"),
        (b"WEBVTT\n\n\xff", "letters"), (b"WEBVTT\n" + b"x" * MOST_BYTES, "large"),
        (b"WEBVTT\n\n" + b"00:01.000 --> 00:02.000\nx\n\n" * 1_001, "many"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_taken_say_why(content, reason):
    found = webvtt.read_bytes(content)
    assert [(problem.line, problem.reason) for problem in found.problems] == [(0, reason)]
    assert found.comments == []


@pytest.mark.parametrize(
    "text",
    [
        "WEBVTT\n\n" + "00:01.000 --> 00:02.000\nwords\n\n" * 100_000,
        "WEBVTT\n\n" + "00:01.000 --> 00:02.000\n" * 100_000,
        "WEBVTT\n\n00:01.000 --> 00:02.000\n" + "x" * 10_000_000,
        "WEBVTT\n\n00:01.000 --> 00:02.000\n<v " + " " * 10_000_000,
        "WEBVTT\n\n00:01.000 --> 00:02.000\n" + "<&#|" * 2_500_000,
        "WEBVTT\n\n" + "0" * 10_000_000 + ":01.000 --> 00:02.000\nx",
        "-->" * 3_000_000,
    ],
    ids=["cues", "no blank lines", "one line", "blanks", "signs", "digits", "arrows"],
)
def test_huge_files_end_soon(text):
    begun = time.process_time()
    found = webvtt.read(text)
    assert time.process_time() - begun < 20
    assert found.problems or len(found.comments) == 1
    assert webvtt.read_bytes(text.encode()).faults[0].reason in {"large", "signature"}


# --- Media fragments ------------------------------------------------------------


LENGTH = 9_970


@pytest.mark.parametrize(
    ("fragment", "expected"),
    [
        ("t=,", None), ("t=3,3", None), ("t=7,3", None), ("t=3,", None), ("t=", None), ("t", None),
        ("t=0,9.97", (0, LENGTH)), ("t=3,7", (3_000, 7_000)), ("t=3,15", (3_000, LENGTH)),
        ("t=3", (3_000, LENGTH)), ("t=15", (LENGTH, LENGTH)), ("t=,7", (0, 7_000)),
        ("t=,15", (0, LENGTH)), ("t=15,20", (LENGTH, LENGTH)), ("t=npt:1,2", (1_000, 2_000)),
        ("t=1,0:00:02.5", (1_000, 2_500)), ("t=00:03,00:04", (3_000, 4_000)),
        ("t=3,7&t=1,2", (1_000, 2_000)), ("t=3,7&t=9,1", (3_000, 7_000)),
        ("u=1&t=3,7&track=a", (3_000, 7_000)), ("%74=%33", (3_000, LENGTH)),
        ("t=-3,7", None), ("t=3s", None), ("t=a", None), ("t=3,7,9", None), ("T=3", None),
        ("t=0:60:00", None), ("t=smpte:00:00:01", None), ("t=٣", None), ("t==3", None),
        ("t=" + "9" * 1_000_000, None),
    ],
)  # fmt: skip
def test_the_time_vectors_of_the_recommendation(fragment, expected):
    found = fragments.parse(fragment)
    assert found.has_time == (expected is not None)
    if expected is not None:
        assert found.within(LENGTH) == expected
        assert fragments.parse(f"#{fragment}") == found


def test_times_of_the_clock():
    found = fragments.parse("t=120,0:02:01.5")
    assert (found.start_ms, found.end_ms) == (120_000, 121_500)
    assert fragments.parse("t=npt:10,20") == fragments.parse("t=10,20")


@pytest.mark.parametrize(
    ("fragment", "expected"),
    [
        ("xywh=160,120,320,240", fragments.Region(160, 120, 320, 240)),
        ("xywh=pixel:1,2,3,4", fragments.Region(1, 2, 3, 4)),
        ("xywh=percent:25,25,50,50", fragments.Region(25, 25, 50, 50, True)),
        ("t=1,2&xywh=percent:40,30,20,20", fragments.Region(40, 30, 20, 20, True)),
        ("xywh=1,2,3", None), ("xywh=1,2,0,4", None), ("xywh=percent:1,2,3,400", None),
        ("xywh=-1,2,3,4", None), ("xywh=cm:1,2,3,4", None),
    ],
)  # fmt: skip
def test_regions(fragment, expected):
    assert fragments.parse(fragment).region == expected


@given(st.integers(0, 10**9), st.integers(1, 10**8))
def test_a_written_fragment_is_read_back(start, length):
    found = fragments.parse(fragments.written(start, start + length))
    assert (found.start_ms, found.end_ms) == (start, start + length)


@given(st.text(max_size=60))
def test_no_fragment_breaks_the_reader(text):
    assert fragments.parse(text) == fragments.parse(text)
    assert fragments.parse(f"t={text}&t=1,2").start_ms is not None


# --- Web Annotation -------------------------------------------------------------


@given(st.lists(comments(), max_size=4, unique_by=lambda one: one.id), st.booleans())
def test_annotations_give_back_what_they_were_given(given_ones, is_sent):
    if is_sent:
        given_ones = [
            replace(one, sent_at="2026-11-20T17:30:00Z", drawing="<svg>&</svg>")
            for one in given_ones
        ]
    text = annotation.written(given_ones, address=ADDRESS, label="A film", source=SOURCE)
    found = annotation.read_bytes(text.encode())
    assert found.problems == []
    assert found.comments == by_time(given_ones)
    assert COLLECTION.is_valid(json.loads(text))


def test_an_annotation_keeps_its_meaning_as_linked_data():
    one = Noted(
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", 12_500, 18_000, (Who("12", "Ines"),),
        "closeout-technique", "not_yet", "Hips turn late", "Short steps", "2026-11-20T17:30:00Z",
    )  # fmt: skip
    found = annotation.collection([one], address=ADDRESS, label="A film", source=SOURCE)
    options = {"documentLoader": annotation_rules.load_context}
    (expanded,) = jsonld.expand(found, options)
    oa, streams = "http://www.w3.org/ns/oa#", "https://www.w3.org/ns/activitystreams#"
    assert expanded["@type"] == [f"{streams}OrderedCollection"]
    assert expanded[f"{streams}totalItems"][0]["@value"] == 1
    (page,) = expanded[f"{streams}first"]
    (mark,) = page[f"{streams}items"][0]["@list"]
    assert mark["@id"] == "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert mark["@type"] == [f"{oa}Annotation"]
    assert mark[f"{oa}motivatedBy"] == [{"@id": f"{oa}commenting"}]
    (target,) = mark[f"{oa}hasTarget"]
    assert target[f"{oa}hasSource"] == [{"@id": SOURCE}]
    (selector,) = target[f"{oa}hasSelector"]
    value = "http://www.w3.org/1999/02/22-rdf-syntax-ns#value"
    assert selector["@type"] == [f"{oa}FragmentSelector"]
    assert selector[value] == [{"@value": "t=12.5,18"}]
    conforms = "http://purl.org/dc/terms/conformsTo"
    assert selector[conforms] == [{"@id": "http://www.w3.org/TR/media-frags/"}]
    purposes = [
        {purpose["@id"].removeprefix(oa) for purpose in body[f"{oa}hasPurpose"]}
        for body in mark[f"{oa}hasBody"]
    ]
    assert purposes == [
        {"commenting"}, {"editing"}, {"tagging", "assessing"}, {"tagging", "classifying"},
        {"tagging", "identifying"},
    ]  # fmt: skip
    # Nothing falls out on the way: every body has kept its words.
    assert [body[value][0]["@value"] for body in mark[f"{oa}hasBody"]] == [
        "Hips turn late", "Short steps", "not_yet", "closeout-technique", "#12 Ines",
    ]  # fmt: skip


def test_an_annotation_of_others_is_read():
    vector = {
        "@context": "http://www.w3.org/ns/anno.jsonld",
        "id": "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "type": "Annotation",
        "motivation": "commenting",
        "body": {"type": "TextualBody", "value": "Hips turn late", "format": "text/plain"},
        "target": {
            "source": "https://club.example/film/7",
            "selector": {
                "type": "FragmentSelector",
                "conformsTo": "http://www.w3.org/TR/media-frags/",
                "value": "t=12.5,18",
            },
        },
    }
    jsonschema.validate(vector, annotation_rules.ANNOTATION)
    (one,) = annotation.read(vector).comments
    assert (one.id, one.start_ms, one.end_ms) == (vector["id"][9:], 12_500, 18_000)
    assert (one.happened, one.verdict) == ("Hips turn late", "note")
    by_address = {**vector, "target": "https://club.example/film.mp4#t=3"}
    (other,) = annotation.read([by_address]).comments
    assert (other.start_ms, other.end_ms) == (3_000, None)
    whole = {**vector, "target": "https://club.example/film/7"}
    assert annotation.read([whole]).problems[0].reason == "no_time"


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"{", "json"), (b"[" * 200_000, "json"), (b"3", "annotations"), (b"{}", "annotations"),
        (b"\xff", "json"), (b"[1]", "annotation"), (b'[{"type": "Annotation"}]', "no_time"),
        (b"[" + b"1," * 1_001 + b"1]", "many"), (b"1" * 100_000, "json"),
        (b" " * (MOST_BYTES + 1), "large"),
    ],
)  # fmt: skip
def test_what_is_no_annotation_says_why(content, reason):
    found = annotation.read_bytes(content)
    assert found.problems[0].reason == reason
    assert found.comments == []


# --- CSV -------------------------------------------------------------------------


@given(st.lists(comments(), max_size=4, unique_by=lambda one: one.id))
def test_a_csv_file_gives_back_what_it_was_given(given_ones):
    text = csvfile.written(given_ones)
    found = csvfile.read_bytes(text.encode())
    assert found.problems == []
    assert found.comments == by_time(given_ones)
    rows = list(csv.reader(io.StringIO(text, newline="")))
    for row in rows[1:]:
        for cell in row:
            assert cell[:1] not in {"\t", "\r", "\n"}
            assert cell.lstrip()[:1] not in set("=+-@＝＋－＠")


@given(WORDS)
@example("'=1")
@example("''")
def test_a_cell_is_what_it_was(cell):
    assert csvfile.meant(csvfile.harmless(cell)) == cell


def test_a_list_written_by_hand_is_read():
    found = csvfile.read("start,players,happened\n1:02.5,#12; Runa,Late\nsoon,,\n,,\n")
    (one,) = found.comments
    assert (one.start_ms, one.end_ms, one.players) == (62_500, None, (Who("12"), Who("", "Runa")))
    assert [(problem.line, problem.reason) for problem in found.problems] == [
        (3, "stamp"),
        (4, "stamp"),
    ]
    assert csvfile.read("a,b\n1,2\n").problems[0].reason == "columns"
    assert csvfile.read("start\n" + "x" * 200_000).problems[0].reason == "row"
    assert csvfile.read("start,end\n0:05,0:04\n").problems[0].reason == "order"
