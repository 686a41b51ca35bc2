"""`manage.py transcribe` and `talkthrough`: a result, or one line that says what to do."""

import io
import json
import os
import random
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from devplans.talkthrough import files
from devplans.talkthrough.captions import read
from devplans.talkthrough.management.commands.talkthrough import shifted
from devplans.talkthrough.understand.parts import Cue
from tests.talkthrough import sounds

pytestmark = [pytest.mark.once, pytest.mark.long]

ROOT = Path(__file__).resolve().parents[2]
TALK = (
    "[0:05] Maeve, you fly past her on the closeout. Stay low on two "
    "feet.\n[0:20] Tamsin, great help there, foot in the key.\n[0:2x] hm\n"
)
ROSTER = 'number,name,heard_as\n12,Maeve "Mo" Okonjo,mauve\n4,Tamsin Reed,\n'
KEYS = [
    "start_ms", "end_ms", "players", "unsure", "skills", "maybe_skills", "verdict", "happened",
    "do_instead", "said",
]  # fmt: skip


@pytest.fixture
def place(tmp_path):
    (tmp_path / "talk.txt").write_text(TALK)
    (tmp_path / "roster.csv").write_text(ROSTER)
    return tmp_path


def run(name, *arguments):
    out, err = io.StringIO(), io.StringIO()
    call_command(name, *map(str, arguments), stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def understood(place, *options, name="talk.txt"):
    return run("talkthrough", place / name, "--roster", place / "roster.csv", *options)


def test_suggestions_as_json(place):
    out, err = understood(place, "--json")
    found = json.loads(out)
    assert set(found) == {"suggestions", "left_out"}
    assert all(list(one) == KEYS for one in found["suggestions"])
    assert all(list(one) == ["start_ms", "said", "why"] for one in found["left_out"])
    first, second = found["suggestions"]
    assert (first["players"], first["verdict"], first["start_ms"]) == (["12"], "not_yet", 5000)
    assert "closeout-technique" in first["skills"] + first["maybe_skills"]
    assert (second["players"], second["verdict"]) == (["4"], "did_it")
    assert err == (
        "line 3: The time at the beginning of this line cannot be read; its words follow those "
        "above.\n"
    )


def test_suggestions_as_a_table(place):
    out, _err = understood(place)
    assert "0:05  not yet: #12 Maeve Okonjo · closeout-technique" in out
    assert "Next time: Stay low on two feet." in out
    assert out.splitlines()[-1].startswith("2 suggestions, ")


def test_film_time_is_the_transcripts_plus_an_offset(place):
    found = json.loads(understood(place, "--json", "--offset", "61.5")[0])
    assert found["suggestions"][0]["start_ms"] == 66_500
    assert shifted([Cue(1000, 3000, "a")], -2000) == [Cue(0, 1000, "a")]
    with pytest.raises(CommandError, match="24 hours"):
        understood(place, "--offset", "nan")


@pytest.mark.parametrize(
    ("roster", "why"),
    [
        (b"", "no player"),
        (b"number,name\n4,A B\n4,C D\n", "line 3: 4 is the number of line 2"),
        ("number,name\n4,Zsófia B\n".encode("cp1252"), "line 2: save the roster as UTF-8"),
        (random.Random(1).randbytes(999), "UTF-8"),
    ],
)
def test_a_roster_that_cannot_be_read(place, roster, why):
    (place / "roster.csv").write_bytes(roster)
    with pytest.raises(CommandError, match=why):
        understood(place)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "no words"),
        (b"hello", "begins with a time"),
        (b"WEBVTT\n", "begins with a time|no words"),
        (b"0:01 " + b"low " * 3_000_000, None),
        (b"x" * (17 * 1024 * 1024), "larger than 16 MB"),
    ],
)
def test_a_transcript_that_is_none_or_too_much(place, content, why):
    (place / "talk.txt").write_bytes(content)
    if why is None:
        assert "20,000 letters" in understood(place, "--json")[1]
        return
    with pytest.raises(CommandError, match=why):
        understood(place)


def test_more_words_than_are_understood(place, monkeypatch):
    monkeypatch.setattr(files, "MOST_WORDS", 20)
    with pytest.raises(CommandError, match=r"22 words.*cut it into parts"):
        understood(place)


def test_what_is_not_there_is_one_line(place):
    for name in ("transcribe", "talkthrough"):
        more = () if name == "transcribe" else ("--roster", place / "roster.csv")
        for path in (place / "nope", place):
            with pytest.raises(CommandError, match=r"^\S+ cannot be opened: [^\n]*$"):
                run(name, path, *more)


def test_without_a_database_it_is_a_program_like_any_other(place):
    """In a process of its own: output, exit codes, one line of error."""
    nowhere = {"DATABASE_URL": "postgresql://nobody@127.0.0.1:1/none", "PATH": os.environ["PATH"]}

    def ask(*arguments):
        command = [sys.executable, "manage.py", *map(str, arguments)]
        return subprocess.run(
            command, cwd=ROOT, env=nowhere, capture_output=True, text=True, check=False
        )

    good = ask("talkthrough", place / "talk.txt", "--roster", place / "roster.csv", "--json")
    assert good.returncode == 0
    assert len(json.loads(good.stdout)["suggestions"]) == 2
    bad = ask("transcribe", place / "roster.csv")
    assert (bad.returncode, bad.stdout) == (1, "")
    assert len(bad.stderr.strip().splitlines()) == 1
    assert ask("talkthrough", place / "talk.txt").returncode == 2


def test_speech_becomes_webvtt(place):
    said, out = place / "said.webm", place / "said.vtt"
    said.write_bytes(sounds.webm(sounds.recording("beckett.wav"), first_s=2.5, length_s=2.5))
    told, _err = run("transcribe", said, "--out", out)
    assert str(out) in told
    assert "No matter." in [cue.text for cue in read(out.read_bytes()).cues]
    with pytest.raises(CommandError, match="no folder"):
        run("transcribe", said, "--out", place / "none" / "x.vtt")


def test_sound_is_heard_whatever_its_name_says(place):
    content = sounds.webm(sounds.recording("beckett.wav"), first_s=2.5, length_s=2.5)
    (place / "talk.vtt").write_bytes(content)
    assert set(json.loads(understood(place, "--json", name="talk.vtt")[0])) == {
        "suggestions", "left_out",
    }  # fmt: skip


def broken_files():
    """Names and contents: noise, and files of many kinds that are cut off or have wrong bytes."""
    chance = random.Random(11)
    wav = sounds.recording("beckett.wav").read_bytes()
    webm = sounds.webm(sounds.recording("beckett.wav"))
    text = (TALK * 50).encode()
    for size in (1, 7, 100, 5_000, 2_000_000):
        yield f"noise of {size}", chance.randbytes(size)
    for kind, whole in (("wav", wav), ("webm", webm), ("text", text)):
        for number in range(8):
            content = bytearray(whole)
            for _flip in range(1 + len(content) // 2_000 * (number % 4)):
                content[chance.randrange(len(content))] = chance.randrange(256)
            cut = chance.randrange(1, len(content)) if number % 2 else len(content)
            yield f"{kind} {number}", bytes(content[:cut])
    yield "packed", zlib.compress(b"0" * 1_000_000)
    yield "one line", b"maeve stay low " * 700_000
    yield "deep", b"<" * 100_000 + b"\n0:01 " + b"[" * 19_000
    yield "wide", ("0:01 mæve\n" * 500).encode("utf-16")


def result_or_line(name, command, *arguments):
    try:
        run(command, *arguments)
    except CommandError as caught:
        error = str(caught)
    else:
        return True
    assert len(error.splitlines()) == 1, name
    assert len(error) < 300, name
    return False


@pytest.mark.soak
@pytest.mark.timeout(1200)
def test_anything_is_a_result_or_a_line_that_says_what_to_do(place):
    results = 0
    for name, content in broken_files():
        (place / "talk.wav").write_bytes(content)
        for command in ("transcribe", "talkthrough"):
            more = () if command == "transcribe" else ("--roster", place / "roster.csv", "--json")
            results += result_or_line(name, command, place / "talk.wav", *more)
    assert results > 10


@pytest.mark.soak
@pytest.mark.timeout(600)
def test_as_many_words_as_are_taken_are_understood(place):
    lines = ["maeve you fly past her", "stay low on two feet", "tamsin good help there okay"]
    count = files.MOST_WORDS // 5 - 1
    talk = "".join(f"{n // 30}:{n % 30 * 2:02} {lines[n % 3]}\n" for n in range(count))
    (place / "talk.txt").write_text(talk)
    found = json.loads(understood(place, "--json")[0])
    assert len(found["suggestions"]) > 1_000
