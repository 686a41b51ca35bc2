"""The squad board, through its pages."""

import csv
import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from devplans.core.models import AuditEntry
from devplans.people.models import SquadPlayer
from devplans.progress.board.counts import counts_of, roster_of
from devplans.progress.board.table import board_of
from devplans.stats.proportions import shrink, wilson_interval
from devplans.tallies.models import Tally
from tests import factories as make
from tests.progress.counting import count, fill, long_ago, page, sample, words


def cell(board, skill, player):
    row = next(row for row in board.rows if row.skill == skill)
    at = next(c.place for c in board.columns if c.line.player == player)
    return row.cells[at]


def test_a_cell_says_the_count_its_interval_and_the_day(client, cast, skills, four_films):
    board = board_of(cast.squad, long_ago())
    found = cell(board, skills[0], cast.kid)
    assert (found.rate.made, found.rate.tried) == (4, 16)
    assert (found.rate.low, found.rate.high) == pytest.approx(wilson_interval(4, 16))
    told = words(page(client, cast.coach, "board", cast.squad))
    assert "4 of 16 10–49 %" in told
    assert "squad 12 of 40, 18–45 %, by Ravel" in told
    assert not re.search(r"(?<![\d–])0 %", told)


def test_players_are_drawn_to_the_squad_beside_their_counts(cast, skills, four_films):
    board = board_of(cast.squad, long_ago())
    shrunk = shrink([(8, 24), (4, 16), (0, 0)])
    assert cell(board, skills[0], cast.mate).about == pytest.approx(shrunk.estimates[0])
    assert cell(board, skills[0], cast.kid).about == pytest.approx(shrunk.estimates[1])
    # Asked for and without a chance: the squad's average, and said to be that.
    nobody = cell(board, skills[0], cast.adult)
    assert (nobody.rate, nobody.about) == (None, pytest.approx(12 / 40))


def test_who_was_never_counted_gets_a_dash_and_no_estimate(client, cast, skills):
    count(cast.squad, cast.coach, skills[:1], {cast.kid: {skills[0]: (3, 9)}})
    found = cell(board_of(cast.squad, long_ago()), skills[0], cast.mate)
    assert (found.rate, found.about, found.was_counted) == (None, None, False)
    # One player alone is drawn nowhere.
    assert cell(board_of(cast.squad, long_ago()), skills[0], cast.kid).about is None
    assert "– not counted" in words(page(client, cast.coach, "board", cast.squad))


def test_counts_of_two_coaches_are_never_added(client, cast, second, skills):
    close = skills[0]
    count(cast.squad, cast.coach, [close], {cast.kid: {close: (6, 10)}, cast.mate: {close: (2, 9)}})
    count(cast.squad, second, [close], {cast.kid: {close: (3, 5)}, cast.adult: {close: (1, 2)}})
    board = board_of(cast.squad, long_ago())
    row = next(row for row in board.rows if row.skill == close)
    assert (row.made, row.tried, row.coach) == (8, 19, cast.coach.full_name)
    kid = cell(board, close, cast.kid)
    assert (kid.rate.made, kid.rate.tried) == (6, 10)
    assert [(one.made, one.tried) for one in kid.others] == [(3, 5)]
    adult = cell(board, close, cast.adult)
    assert (adult.rate.made, adult.about, adult.by) == (1, None, f"by {second.full_name}")
    told = words(page(client, cast.coach, "board", cast.squad))
    assert f"3 of 5 by {second.full_name}, not added" in told


def test_a_sample_keeps_its_own_interval(client, cast, skills):
    sample(cast.squad, cast.coach, skills[0], cast.kid, 3, 6, 0.31, 0.72)
    found = cell(board_of(cast.squad, long_ago()), skills[0], cast.kid)
    assert (found.rate.low, found.rate.high, found.about) == (0.31, 0.72, None)
    told = words(page(client, cast.coach, "board", cast.squad))
    assert "3 of 6 31–72 %" in told
    assert ", sample" in told


def test_players_stand_by_number_and_skills_by_family(client, cast, skills, four_films):
    board = board_of(cast.squad, long_ago())
    assert [c.line.number for c in board.columns] == ["7", "12", "31"]
    assert [row.skill.name for row in board.rows] == ["Boxing out", "Closing out", "Finishing high"]
    html = page(client, cast.coach, "board", cast.squad)
    assert html.count('scope="rowgroup"') == 2
    assert "sort" not in html


def test_only_the_squads_own_films_of_the_span_are_told(cast, skills):
    figures = {cast.kid: {skills[0]: (3, 9)}}
    count(cast.other_squad, cast.other_coach, skills[:1], figures)
    count(cast.squad, cast.coach, skills[:1], figures, days=100)
    assert board_of(cast.squad, timezone.now().date() - timedelta(days=50)).rows == []
    assert len(board_of(cast.squad, long_ago()).rows) == 1


def test_open_counts_and_players_who_left_are_no_evidence(cast, skills):
    tally = count(cast.squad, cast.coach, skills[:1], {cast.kid: {skills[0]: (3, 9)}})
    Tally.objects.filter(pk=tally.pk).update(closed_at=None)
    assert board_of(cast.squad, long_ago()).rows == []
    Tally.objects.filter(pk=tally.pk).update(closed_at=timezone.now())
    yesterday = timezone.now().date() - timedelta(days=1)
    SquadPlayer.objects.filter(player=cast.kid).update(until=yesterday)
    assert (
        counts_of(cast.squad, [one.player for one in roster_of(cast.squad)], long_ago()).rows == []
    )


def test_more_players_than_fit_side_by_side_begin_another_table(client, cast, skills, four_films):
    for number in range(40, 52):
        make.make_player(squad=cast.squad, number=str(number))
    html = page(client, cast.coach, "board", cast.squad)
    assert html.count("<table") == 2
    assert html.count('scope="col"') == 15 + 2


def test_the_csv_of_the_board_holds_every_cell(client, cast, skills, four_films):
    rows = list(csv.reader(io.StringIO(page(client, cast.coach, "board-csv", cast.squad))))
    assert len(rows) == 1 + 3 * 3
    low, high = wilson_interval(4, 16)
    kid = next(row for row in rows if row[1:3] == ["Closing out", "12"])
    assert kid[3:8] == ["Ines Okafor", "4", "16", f"{low:.4f}", f"{high:.4f}"]
    adult = next(row for row in rows if row[1:3] == ["Closing out", "31"])
    assert adult[4:8] == ["", "0", "", ""]


def test_directors_are_audited_and_coaches_are_not(client, cast):
    for route in ("board", "next", "board-csv", "next-csv"):
        page(client, cast.coach, route, cast.squad)
    assert not AuditEntry.objects.filter(verb="progress.squad_read").exists()
    for route in ("board", "next", "board-csv", "next-csv"):
        page(client, cast.director, route, cast.squad)
    assert AuditEntry.objects.filter(verb="progress.squad_read", actor=cast.director).count() == 4


def test_empty_states_say_what_to_do(client, cast):
    assert "Nothing has been counted on film yet" in page(client, cast.coach, "board", cast.squad)
    told = page(client, cast.coach, "next", cast.squad)
    assert "Nothing has been counted on film yet" in told
    assert "No practice in the calendar: for 60 minutes." in words(told)
    empty = make.make_squad(season=cast.season, name="Under 12")
    make.make_member(cast.coach, "coach", club=cast.club, squad=empty)
    for route in ("board", "next"):
        assert "No players yet" in page(client, cast.coach, route, empty)


@pytest.mark.parametrize("route", ["board", "next", "board-csv", "next-csv"])
def test_fifty_players_and_thirty_skills_ask_no_more_than_two(
    client, cast, practice, route, django_assert_num_queries, django_assert_max_num_queries
):
    fill(cast, 2, 2)
    client.force_login(cast.coach)
    where = reverse(f"progress:{route}", args=[cast.squad.pk])
    client.get(where)
    with django_assert_max_num_queries(60) as few:
        client.get(where)
    fill(cast, 48, 28)
    with django_assert_num_queries(len(few)):
        assert client.get(where).status_code == 200
