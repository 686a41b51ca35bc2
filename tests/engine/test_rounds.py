"""`make test` and `make test-long` themselves: what they run, on which servers, when they fail."""

from contextlib import contextmanager
from itertools import product

import pytest

from tests import rounds, services

pytestmark = pytest.mark.once

MARKS = {name: marks for name, (marks, _) in rounds.ROUNDS.items()}


@pytest.fixture
def runs(monkeypatch):
    """What would have been run: (marks, environment); `codes` is what each run answers."""
    seen = []
    codes = dict.fromkeys(MARKS.values(), 0)

    def run_pytest(marks, environment, arguments):
        seen.append((marks, environment))
        return codes[marks]

    @contextmanager
    def from_wheel(url):
        yield url

    monkeypatch.setattr(rounds, "run_pytest", run_pytest)
    monkeypatch.setattr(services, "find_chromium", lambda: "/usr/bin/chromium")
    monkeypatch.setattr(services, "postgres", lambda: from_wheel("postgresql://wheel/db"))
    monkeypatch.setattr(services, "valkey", lambda: from_wheel("redis://wheel"))
    for name in ("DATABASE_URL", "REDIS_URL"):
        monkeypatch.delenv(name, raising=False)
    return seen, codes


def test_both_rounds_run_and_the_second_on_servers_from_wheels(runs):
    seen, _ = runs
    assert rounds.main([]) == 0
    servers = {"DATABASE_URL": "postgresql://wheel/db", "REDIS_URL": "redis://wheel"}
    assert seen == [(MARKS["sqlite"], {}), (MARKS["servers"], servers)]


def test_what_takes_long_runs_in_rounds_of_its_own(runs):
    seen, _ = runs
    assert rounds.main(["long", "long-servers", "-x"]) == 0
    assert [marks for marks, _ in seen] == [MARKS["long"], MARKS["long-servers"]]


@pytest.mark.parametrize("held", list(product([False, True], repeat=5)))
def test_every_test_has_its_round(held):
    """By its marks: in `make test`, in one of the long rounds, or in `make soak`."""
    marks = dict(zip(("e2e", "core", "long", "once", "soak"), held, strict=True))
    found = {name for name in MARKS if eval(MARKS[name], {}, marks)}
    if marks["soak"]:
        assert found == set()
    elif marks["long"] or (marks["e2e"] and not marks["core"]):
        assert found == {"long" if marks["once"] else "long-servers"}
    else:
        assert found == ({"sqlite"} if marks["once"] else {"sqlite", "servers"})


def test_named_servers_take_the_place_of_wheels(runs, monkeypatch):
    seen, _ = runs
    monkeypatch.setenv("DATABASE_URL", "postgresql://mine/db")
    assert rounds.main(["servers"]) == 0
    servers = {"DATABASE_URL": "postgresql://mine/db", "REDIS_URL": "redis://wheel"}
    assert seen == [(MARKS["servers"], servers)]


@pytest.mark.parametrize("failing", [MARKS["sqlite"], MARKS["servers"]])
def test_either_round_fails_the_whole_and_both_are_run(runs, failing):
    seen, codes = runs
    codes[failing] = 1
    assert rounds.main([]) == 1
    assert len(seen) == 2


def test_without_a_browser_it_says_what_is_left_out(runs, monkeypatch, capsys):
    monkeypatch.setattr(services, "find_chromium", lambda: None)
    monkeypatch.setattr(services, "REQUIRED", False)
    assert rounds.main([]) == 0
    assert "Left out: every test marked e2e." in capsys.readouterr().out


def test_without_a_browser_it_fails_where_everything_is_required(runs, monkeypatch):
    seen, _ = runs
    monkeypatch.setattr(services, "find_chromium", lambda: None)
    monkeypatch.setattr(services, "REQUIRED", True)
    assert rounds.main([]) == 1
    assert seen == []


def test_a_persons_own_settings_do_not_reach_the_tests(monkeypatch):
    kept = {}

    def run(command, *, env, check):
        kept.update(env)
        return type("Ended", (), {"returncode": 0})

    monkeypatch.setattr(rounds.subprocess, "run", run)
    monkeypatch.setenv("EMAIL_URL", "smtp://mail.club.example")
    monkeypatch.setenv("DATA_DIR", "/srv/club")
    rounds.run_pytest("not soak", {"REDIS_URL": "redis://wheel"}, [])
    assert kept["REDIS_URL"] == "redis://wheel"
    assert not {"EMAIL_URL", "DATA_DIR", "DATABASE_URL"} & set(kept)
    assert "PATH" in kept


def test_the_browser_on_the_path_comes_first(monkeypatch):
    monkeypatch.setattr(services.shutil, "which", {"chromium-browser": "/opt/chromium"}.get)
    assert services.find_chromium.__wrapped__() == "/opt/chromium"
