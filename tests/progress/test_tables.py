"""The tables of the pages as files."""

import csv
import io
from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from devplans.core.models import AuditEntry
from devplans.progress import club, exports
from devplans.progress.tables import Table
from devplans.stats import weeks
from tests import factories as make
from tests.progress.test_pages import make_goal, make_review


def read(client, route, *args, query=""):
    answer = client.get(reverse(f"progress:{route}", args=args) + query)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert "attachment" in answer["Content-Disposition"]
    assert not answer.content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(io.StringIO(answer.content.decode())))


@pytest.mark.once
def test_cells_are_plain_and_harmless():
    at = datetime(2026, 11, 20, 17, 30, tzinfo=UTC)
    table = Table(
        ["a", "b"], [["=1+1", "+49"], ["@x", -3], [None, 0.56254], [date(2026, 1, 2), at]]
    )
    rows = list(csv.reader(io.StringIO(table.written())))
    assert rows == [
        ["a", "b"], ["'=1+1", "'+49"], ["'@x", "-3"], ["", "0.5625"],
        ["2026-01-02", "2026-11-20T17:30:00+00:00"],
    ]  # fmt: skip


def test_goals_and_their_reviews(client, cast):
    skill = make.make_skill(name='=HYPERLINK("x")')
    goal = make_goal(cast.kid, make.make_drill(name="Wall finishes", skill=skill))
    make_review(goal)
    make_review(goal, 2, "same", low=-0.05)
    make.make_workout(cast.kid, sets=[{"drill": goal.drill, "made": 7, "tried": 10}])
    client.force_login(cast.guardian)
    head, row = read(client, "player-goals", cast.kid.pk)
    found = dict(zip(head, row, strict=True))
    assert found["skill"] == "'" + skill.name
    assert (found["made"], found["tried"]) == ("7", "10")
    assert (found["low"], found["high"]) == ("0.3968", "0.8922")
    assert (found["made at the start"], found["tried at the start"]) == ("5", "10")
    assert found["due on"] == goal.due_on.isoformat()
    assert found["status"] == "Not enough evidence yet"
    head, *rows = read(client, "player-reviews", cast.kid.pk)
    found = [dict(zip(head, row, strict=True)) for row in rows]
    assert [one["review"] for one in found] == ["1", "2"]
    assert found[1]["low of the difference"] == "-0.0500"
    assert found[0]["in words"] == "Between 2 and 27 points better."


def test_weeks_drills_and_film(client, cast):
    drill = make.make_drill(name="Form shooting")
    make.make_workout(cast.kid, minutes=30, sets=[{"drill": drill, "made": 3, "tried": 4}])
    film = make.make_film(cast.squad)
    kept = make.make_delivery(make.make_comment(film, cast.coach, [cast.kid]), cast.kid)
    gone = make.make_comment(film, cast.coach, [cast.kid], happened="Taken back.")
    make.make_delivery(gone, cast.kid, withdrawn_at=kept.sent_at)
    client.force_login(cast.player)
    head, *rows = read(client, "player-weeks", cast.kid.pk)
    assert len(rows) == 8
    last = dict(zip(head, rows[-1], strict=True))
    this = weeks.week_of(kept.sent_at, cast.club.zone)
    assert (last["week"], last["first day"]) == (
        weeks.format_label(this), weeks.monday(*this).isoformat(),
    )  # fmt: skip
    assert (last["minutes alone"], last["made"], last["tried"]) == ("30", "3", "4")
    assert rows[0][2:] == ["0", *[""] * 7]
    head, row = read(client, "player-drills", cast.kid.pk)
    assert dict(zip(head, row, strict=True))["drill"] == "Form shooting"
    head, *rows = read(client, "player-film", cast.kid.pk)
    assert [dict(zip(head, row, strict=True))["what happened"] for row in rows] == ["Late."]


@pytest.mark.parametrize("table", exports.TABLES)
def test_an_office_that_takes_a_table_is_written_down(client, cast, table):
    for user in (cast.player, cast.guardian, cast.coach):
        client.force_login(user)
        read(client, f"player-{table}", cast.kid.pk)
    assert not AuditEntry.objects.filter(verb="progress.table_exported").exists()
    client.force_login(cast.welfare)
    read(client, f"player-{table}", cast.kid.pk)
    entry = AuditEntry.objects.get(verb="progress.table_exported")
    assert (entry.player_id, entry.detail) == (cast.kid.pk, {"table": table})


def test_the_club_s_tables_are_of_the_week_that_the_page_shows(client, cast):
    week = weeks.week_of(datetime.now(UTC), cast.club.zone)
    label = weeks.format_label(week)
    start, _end = weeks.bounds(*week, cast.club.zone)
    make.make_workout(cast.kid, kind="organised", minutes=700, started_at=start)
    make.make_film(cast.squad, title="@Larks away", recorded_at=start - timedelta(days=3))
    client.force_login(cast.director)
    found = {table: read(client, f"club-{table}", query=f"?week={label}") for table in club.NAMES}
    training = {row[0]: row for row in found["training"]}
    assert training["Under 16"][1:] == ["3", "1", "700", "0", "1"]
    assert [row[1] for row in found["films"][1:]] == ["'@Larks away"]
    flags = {(row[1], row[3]) for row in found["flags"]}
    assert ("Past the published limits on hours or rest, in the week shown", "Ines Okafor") in flags
    assert ("Without consent to film", "Tove Adeyemi") in flags
    assert [row[1] for row in found["players"] if row[0] == "Under 16"] == ["7", "12", "31"]
    assert len(found["goals"][0]) == 11
    assert len(found["feedback"]) == 3
    kept = AuditEntry.objects.filter(verb="progress.club_exported", club_id=cast.club.pk)
    assert sorted(one.detail["table"] for one in kept) == sorted(club.NAMES)
    before = read(client, "club-training", query="?week=2026-W01")
    assert {row[0]: row[3] for row in before[1:]} == {"Under 14": "0", "Under 16": "0"}
