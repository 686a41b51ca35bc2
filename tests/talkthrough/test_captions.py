"""Transcripts as people and programs write them."""

import re
import time
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from devplans.talkthrough.captions import read
from devplans.talkthrough.captions.webvtt import written
from devplans.talkthrough.understand.parts import Cue
from devplans.talkthrough.understand.words import WORD, words_of
from tests.talkthrough.labelled import as_plain, as_srt, as_webvtt, bare, rolling, scripts

pytestmark = pytest.mark.once

PLAIN = [Cue(1500, 3000, "Stay low."), Cue(4000, 6000, "Good, Maeve.")]
ROLLING = """WEBVTT
Kind: captions
Language: en

00:00:00.000 --> 00:00:02.500 align:start position:0%
 
so<00:00:00.400><c> here</c><00:00:00.700><c> we</c><00:00:00.900><c> go</c>

00:00:02.500 --> 00:00:02.510 align:start position:0%
so here we go
 

00:00:02.510 --> 00:00:09.000 align:start position:0%
so here we go
okay<00:00:03.300><c> hm</c><00:00:07.000><c> mo</c><00:00:07.500><c> low</c>

00:00:09.000 --> 00:00:09.010 align:start position:0%
okay hm mo low
 

00:00:12.000 --> 00:00:13.000 align:start position:0%
okay hm mo low
low
"""


def pairs(content):
    return [(cue.start_ms, cue.text) for cue in read(content).cues]


def whys(content):
    return [(fault.line, fault.why.split(";")[0]) for fault in read(content).faults]


@pytest.mark.parametrize(
    ("content", "form"),
    [
        ("WEBVTT\n\n00:01.500 --> 00:03.000\nStay low.\n\n"
         "00:04.000 --> 00:06.000\nGood, Maeve.", "webvtt"),
        ("\ufeffWEBVTT - a game\nKind: captions\n\nNOTE\nnot said\n\nSTYLE\n::cue{}\n\nfirst\n"
         "00:00:01.500 --> 00:00:03.000 line:0 align:start\n<v Dan>Stay <i>low</i>.</v>\n\n2\n"
         "00:00:04.000 --> 00:00:06.000\n<c.yellow>Good</c>, Maeve.\n", "webvtt"),
        ("1\r\n00:00:01,500 --> 00:00:03,000\r\nStay low.\r\n\r\n"
         "2\r\n00:00:04,000 --> 00:00:06,000\r\nGood, Maeve.\r\n", "srt"),
        ("00:01,5 --> 00:03\nStay low.\n00:04 -> 00:06\nGood,\nMaeve.\n", "srt"),
        ("1\n0:00:01.50 --> 0:00:03.00\nCOACH: Stay low.\n\n"
         "2\n0:00:04.00 --> 0:00:06.00\n&gt;&gt; [Music] Good, Maeve. ♪\n", "srt"),
        ("[0:01.5 - 0:03] Stay low.\n\n(0:04 – 0:06): Good,\nMaeve.", "plain"),
        ("00:01.5 - 00:03 - Stay low.\r00:00:04 - 00:00:06 >> Good, Maeve. (applause)\r", "plain"),
    ],
)  # fmt: skip
def test_the_same_words_in_every_form(content, form):
    transcript = read(content)
    assert (list(transcript.cues), transcript.faults, transcript.form) == (PLAIN, (), form)


@pytest.mark.parametrize(
    "encoded",
    [
        lambda text: text.encode("cp1252"),
        lambda text: text.encode("utf-16"),
        lambda text: text.encode("utf-16-le"),
        lambda text: text.encode("utf-16-be"),
        lambda text: text.encode("utf-8-sig"),
        lambda text: text.encode("utf-8") + "\n0:09 Größe – ja".encode("cp1252"),
    ],
)
def test_letters_are_read_in_the_encodings_of_editors(encoded):
    cues = read(encoded("0:01 Zsófia’s naïve closeout\n0:04 José – “stay low”")).cues
    assert [cue.text for cue in cues[:2]] == ["Zsófia’s naïve closeout", "José – “stay low”"]
    assert [cue.text for cue in cues[2:]] in ([], ["Größe – ja"])


def test_rolling_captions_say_each_word_once_and_at_its_time():
    found = read(ROLLING)
    assert found.faults == ()
    assert [(cue.start_ms, cue.text) for cue in found.cues] == [
        (0, "so here we go"),
        (2510, "okay hm"),
        (7000, "mo low"),
        (12_000, "low"),
    ]
    assert found.cues[1].end_ms < 4500


def test_rolling_captions_without_inner_times():
    lines = ["so here we go", "maeve you fly past", "stay low on two feet", "next clip"]
    shown = [
        f"{number}\n00:00:{2 * number:02},000 --> 00:00:{2 * number + 4:02},000\n{text}"
        for number, text in enumerate([lines[0], *(f"{one} {two}" for one, two in pairwise(lines))])
    ]
    assert pairs("\n\n".join(shown)) == [(2000 * n, text) for n, text in enumerate(lines)]


def test_a_repeat_that_was_said_is_kept():
    text = "[0:01] no no\n[0:03] no we go under\n[0:06] go under\n"
    assert [words for _start, words in pairs(text)] == ["no no", "no we go under", "go under"]


@pytest.mark.parametrize("script", scripts("tuning"), ids=lambda script: script.name)
def test_every_word_of_a_talk_comes_back_in_every_style(script):
    for style, most_ms in ((as_webvtt, 700), (as_srt, 700), (rolling, 400), (as_plain, 2000)):
        transcript = read(style(script))
        said = [
            (word, spoken.start_s)
            for spoken in script.words
            for word in WORD.findall(bare(spoken.text) if style is rolling else spoken.text)
        ]
        words = words_of(transcript.cues)
        assert transcript.faults == ()
        assert [word.text for word in words] == [word for word, _start in said]
        off = [abs(one.start_ms - at * 1000) for one, (_, at) in zip(words, said, strict=True)]
        assert max(off) <= most_ms


def test_what_is_broken_is_named_by_its_line_and_the_rest_is_kept():
    content = (
        "1\n00:00:01,000 --> 00:00:03,000\nfirst\n\n"
        "2\n00:00:05,000 --> 00:00:04,000\nends early\n\n"
        "3\n00:00:0x,000 --> 00:00:09,000\nlost\n\n"
        "4\n00:00:02,000 --> 00:00:02,900\nout of order\n\n"
        "5\n00:00:75,000 --> 00:01:20,000\nbeyond sixty\n\n"
        "6\n00:01:30,000 --> soon\nno end\n\nloose words\n\n"
        "00:01:40,000 00:01:42,000\nno arrow\n\n"
        "99:00:00,000 --> 99:00:01,000\nlate\n"
    )
    assert pairs(content) == [
        (1000, "first"),
        (2000, "out of order"),
        (5000, "ends early"),
        (75_000, "beyond sixty"),
        (90_000, "no end loose words"),
        (100_000, "no arrow"),
    ]
    assert whys(content) == [
        (6, "This cue does not end after it begins"),
        (10, "The times of this cue cannot be read"),
        (14, "This cue begins before the one above it"),
        (18, "Minutes and seconds go up to 59"),
        (22, "The end of this cue cannot be read"),
        (25, "These words have no time of their own"),
        (27, "There is no “-->” between these two times"),
        (30, "This time is beyond 24 hours"),
    ]


def test_plain_lines_with_faults():
    content = (
        "Notes of the game\n[0:05] first\ngoes on\n[0:9x] hm\n30:00:00 late\nlater still\n0:07 b"
    )
    assert pairs(content) == [(5000, "first goes on hm"), (7000, "b")]
    assert whys(content) == [
        (1, "These words stand before the first time"),
        (4, "The time at the beginning of this line cannot be read"),
        (5, "This time is beyond 24 hours"),
    ]


def test_plain_lines_end_at_the_next_or_with_their_words():
    content = "".join(f"[0:{4 * n:02}] line {n} has as many as these {n}\n" for n in range(9))
    cues = read(content + "[2:00] good\n").cues
    assert [cue.end_ms for cue in cues[:8]] == [4000 * (n + 1) for n in range(8)]
    assert cues[8].end_ms < 38_000
    assert cues[9].end_ms - cues[9].start_ms < 1500


def test_overlapping_and_hanging_cues_leave_each_other_room():
    cues = read(
        "1\n00:00:01,000 --> 00:00:09,000\nmaeve low\n\n2\n00:00:02,000 --> 00:00:05,000\nyes\n\n"
        "3\n00:00:02,000 --> 00:00:05,000\nand you too\n\n4\n00:01:00,000 --> 00:05:00,000\nok\n"
    ).cues
    assert cues == (
        Cue(1000, 2000, "maeve low"), Cue(2000, 2642, "yes"), Cue(2642, 5000, "and you too"),
        Cue(60_000, 62_500, "ok"),
    )  # fmt: skip


def test_labels_of_speakers_are_not_said_but_players_are():
    assert [words for _at, words in pairs("0:01 COACH DAN: low\n0:03 Speaker 2: yes\n")] == [
        "low", "yes",
    ]  # fmt: skip
    many = "".join(f"0:{n:02} {'Dan Lee' if n % 3 else 'Kim'}: word {n}\n" for n in range(12))
    assert pairs(many)[1] == (1000, "word 1")
    players = "0:01 Maeve: stay low\n0:05 Tamsin: good\n0:09 Maeve: better\n"
    assert pairs(players)[0] == (1000, "Maeve: stay low")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "no words"),
        (b" \n\t\n", "no words"),
        (b"hello", "begins with a time"),
        (b"WEBVTT\n\n", "no words"),
        (b"-->\n" * 10, "begins with a time"),
        (b"\x1aE\xdf\xa3\x01\x00\x00\x00" + bytes(range(256)) * 9, "not a text file"),
        (Random(3).randbytes(200_000), "not a text file"),
        (b"x" * (16 * 1024 * 1024 + 1), "larger than 16 MB"),
    ],
)
def test_no_transcript_says_so(content, why):
    transcript = read(content)
    assert transcript.cues == ()
    assert why in transcript.faults[0].why


def test_ten_megabytes_in_one_line_and_many_faults_are_bounded():
    for begin in ("0:05 ", "WEBVTT\n\n00:01.000 --> 00:02.000\n"):
        transcript = read(begin + "stay low maeve " * 700_000)
        assert sum(len(cue.text) for cue in transcript.cues) <= 20_000
        assert "20,000 letters" in transcript.faults[0].why
    broken = read("0:01 a\n" + "0:0x b\n" * 5_000)
    assert len(broken.faults) == 501


@pytest.mark.soak
def test_a_hundred_thousand_cues_take_seconds_and_time_grows_with_them():
    def stamp(number):
        seconds, part = divmod(number, 4)
        return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02},{part * 250:03}"

    took = {}
    for count in (25_000, 100_000):
        content = "\n\n".join(
            f"{n}\n{stamp(n)} --> {stamp(n + 1)}\nmaeve stay low number {n}" for n in range(count)
        )
        begun = time.process_time()
        assert len(read(content).cues) == count
        took[count] = time.process_time() - begun
    assert took[100_000] < 60
    assert took[100_000] / took[25_000] < 6


BITS = st.sampled_from(
    [
        "WEBVTT", "NOTE", "STYLE", "\n", "\n\n", "\r\n", "1", "2", "00:00:01.000", "0:02", "75:99",
        " --> ", "-->", "->", ",500", "<00:00:01.500><c> low</c>", "<v Dan>", "</v>", "{\\an8}",
        "&amp;", "&#0;", ">>", "[Music]", "[", "]", "COACH:", "maeve stay low", "\ue0007\ue001",
        "\ud800", "99:99:99,999", "  ", "\t", "٣", "\x85",
    ]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.lists(BITS, max_size=60).map("".join), st.text(), st.binary(max_size=3000)))
def test_anything_is_cues_in_order_or_says_why_not(content):
    transcript = read(content)
    assert transcript.cues or transcript.faults
    last = 0
    for cue in transcript.cues:
        assert last <= cue.start_ms <= cue.end_ms <= 86_400_000 + 60_000
        assert cue.text == cue.text.strip() != ""
        cue.text.encode("utf-8")
        last = cue.end_ms


def test_cues_are_written_as_webvtt_that_reads_as_the_same():
    cues = (Cue(0, 1500, "Stay low & wide -> good"), Cue(3_700_000, 3_702_000, "a < b, Maeve"))
    text = written(cues)
    assert re.match(r"WEBVTT\n\n00:00\.000 --> 00:01\.500\n", text)
    assert text.count("-->") == 2
    assert read(text).cues == cues
