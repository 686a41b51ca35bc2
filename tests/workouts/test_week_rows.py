"""Week rows after any run of writes, against sums that are made in plain Python from what was
sent."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from devplans.core.errors import DomainError
from devplans.people.services import change_club
from devplans.stats import weeks
from devplans.tallies import services as tallying
from devplans.tallies.models import Tally, TallyWeek
from devplans.workouts import services
from devplans.workouts.content import Content
from tests import factories as make
from tests.workouts.week_rows import BEGIN, DRILLS, ZONES, by_hand, content_of, held_of

numbers = st.integers(0, 30)
pairs = st.tuples(numbers, numbers).map(sorted)
drawn_sets = st.fixed_dictionaries(
    {
        "drill": st.sampled_from(DRILLS),
        "pair": st.none() | pairs,
        "reps": st.none() | numbers,
        "seconds": st.none() | numbers,
        "shots": st.lists(st.booleans(), max_size=3),
    }
)
# Hours that lie about midnight of a Monday, too, whichever the zone is.
hours = st.integers(0, 21 * 24) | st.sampled_from([26, 27, 28, 31, 32, 193, 194, 195, 196, 200])
drawn_workouts = st.fixed_dictionaries(
    {
        "after": hours,
        "minutes": st.none() | st.integers(0, 90),
        "effort": st.none() | st.integers(0, 10),
        "kind": st.sampled_from(["own", "organised"]),
        "sets": st.lists(drawn_sets, max_size=3),
        "loose": st.lists(st.booleans(), max_size=3),
    }
)


class Weeks(RuleBasedStateMachine):
    """Phones, a coach who counts, and a director who moves the club about."""

    def __init__(self):
        super().__init__()
        self.outer = transaction.atomic()
        self.outer.__enter__()
        self.cast.club.zone = ZONES[0]
        self.cast.club.save(update_fields=["zone"])

    def teardown(self):
        transaction.set_rollback(True)
        self.outer.__exit__(None, None, None)

    @initialize()
    def begin(self):
        self.players = [self.cast.kid, self.cast.mate]
        # key: (player, revision, drawn, content); deleted ones with None for what was drawn.
        self.sent = {}
        film_at = datetime(2026, 10, 25, 23, 30, tzinfo=UTC)
        self.film = make.make_film(self.cast.squad, duration_ms=600_000, recorded_at=film_at)
        skill = make.make_skill()
        self.tally = tallying.start_tally(
            actor=self.cast.coach, film=self.film, skills=[skill], players=self.players
        )
        self.skill = skill
        self.marks = {}

    def put(self, key, player, revision, content):
        player.refresh_from_db()
        return services.put_workout(
            actor=self.cast.coach, player=player, workout_id=key, revision=revision, content=content
        )[1]

    @rule(which=st.integers(0, 1), drawn=drawn_workouts)
    def log(self, which, drawn):
        player, key = self.players[which], uuid4()
        content = content_of(player, drawn)
        assert self.put(key, player, 1, content) == "created"
        self.sent[key] = (player, 1, drawn, content)

    def pick(self, choice):
        keys = list(self.sent)
        return keys[choice % len(keys)]

    @precondition(lambda self: self.sent)
    @rule(choice=st.integers(0, 99), step=st.integers(1, 3), drawn=drawn_workouts)
    def edit(self, choice, step, drawn):
        key = self.pick(choice)
        player, revision, before, _content = self.sent[key]
        content = content_of(player, drawn)
        if before is None:
            with pytest.raises(DomainError):
                self.put(key, player, revision + step, content)
            return
        assert self.put(key, player, revision + step, content) == "replaced"
        self.sent[key] = (player, revision + step, drawn, content)

    @precondition(lambda self: self.sent)
    @rule(choice=st.integers(0, 99), days=st.sampled_from([-7, -1, 1, 7, 14]))
    def move(self, choice, days):
        """The same workout on another day, mostly in another week."""
        key = self.pick(choice)
        drawn = self.sent[key][2]
        if drawn is not None:
            self.edit_to(key, {**drawn, "after": max(drawn["after"] + 24 * days, 0)})

    def edit_to(self, key, drawn):
        player, revision, _drawn, _content = self.sent[key]
        content = content_of(player, drawn)
        assert self.put(key, player, revision + 1, content) == "replaced"
        self.sent[key] = (player, revision + 1, drawn, content)

    @precondition(lambda self: self.sent)
    @rule(choice=st.integers(0, 99), late=st.booleans())
    def replay(self, choice, late):
        """The phone did not hear the answer; or an old revision comes late."""
        key = self.pick(choice)
        player, revision, drawn, content = self.sent[key]
        if drawn is None or late:
            with pytest.raises(DomainError):
                self.put(key, player, revision - late, Content(player.pk, BEGIN, minutes=77))
        else:
            assert self.put(key, player, revision, content) == "unchanged"

    @precondition(lambda self: self.sent)
    @rule(choice=st.integers(0, 99))
    def delete(self, choice):
        key = self.pick(choice)
        player, revision, _drawn, _content = self.sent[key]
        workout = player.workouts.get(pk=key)
        services.delete_workout(actor=self.cast.coach, workout=workout)
        self.sent[key] = (player, revision, None, None)

    @rule(zone=st.sampled_from(ZONES))
    def move_club(self, zone):
        self.cast.club.refresh_from_db()
        change_club(actor=self.cast.director, club=self.cast.club, zone=zone)

    @rule(which=st.integers(0, 1), did_it=st.booleans())
    def mark(self, which, did_it):
        self.keep(uuid4(), self.players[which], did_it, undone=False)

    @precondition(lambda self: self.marks)
    @rule(choice=st.integers(0, 99))
    def undo(self, choice):
        key = list(self.marks)[choice % len(self.marks)]
        self.keep(key, *self.marks[key][:2], undone=True)

    def keep(self, key, player, did_it, *, undone):
        chance = tallying.Chance(key, 1_000, player.pk, self.skill.pk, did_it, undone=undone)
        kept = tallying.keep_marks(actor=self.cast.coach, tally=self.tally, chances=[chance]).kept
        is_open = Tally.objects.get(pk=self.tally.pk).closed_at is None
        if is_open:
            assert kept == [key]
            self.marks[key] = (player, did_it, undone)

    @rule()
    def close_or_reopen(self):
        self.tally.refresh_from_db()
        if self.tally.closed_at is None:
            tallying.close_tally(actor=self.cast.coach, tally=self.tally, sure=True)
        else:
            tallying.reopen_tally(actor=self.cast.coach, tally=self.tally)

    @rule(hour=st.sampled_from([0, 2, 5, 30, 200]))
    def film_is_of_another_day(self, hour):
        self.film.recorded_at = datetime(2026, 10, 25, 20, tzinfo=UTC) + timedelta(hours=hour)
        self.film.save(update_fields=["recorded_at", "updated_at"])

    @invariant()
    def rows_are_what_was_sent(self):
        if not hasattr(self, "marks"):
            return
        self.cast.club.refresh_from_db()
        zone = self.cast.club.zone
        for player in self.players:
            kept = {
                key: drawn
                for key, (whose, _revision, drawn, _content) in self.sent.items()
                if drawn is not None and whose is player
            }
            assert held_of(player) == by_hand(kept, zone)
        self.tally_rows_are_what_was_marked(zone)

    def tally_rows_are_what_was_marked(self, zone):
        self.tally.refresh_from_db()
        expected = {}
        day = self.film.recorded_at.astimezone(ZoneInfo(zone)).date()
        for player, did_it, undone in self.marks.values():
            if self.tally.closed_at is not None and not undone:
                made, tried = expected.get(player.pk, (day, 0, 0))[1:]
                expected[player.pk] = (day, made + did_it, tried + 1)
        rows = TallyWeek.objects.filter(tally=self.tally)
        assert {row.player_id: (row.film_on, row.made, row.tried) for row in rows} == expected
        assert all((r.iso_year, r.iso_week) == r.film_on.isocalendar()[:2] for r in rows)


def test_rows_equal_what_was_sent_after_any_run_of_writes(cast, monkeypatch):
    monkeypatch.setattr(Weeks, "cast", cast, raising=False)
    for slug in DRILLS:
        make.make_drill(slug=slug, counts="makes" if slug.startswith("makes") else "reps")
    run_state_machine_as_test(
        Weeks,
        settings=settings(
            max_examples=10,
            stateful_step_count=20,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_hours_of_the_machine_reach_both_sides_of_each_monday():
    """Else the runs above would say nothing of time zones."""
    sides = {
        zone: {weeks.week_of(BEGIN + timedelta(hours=hour), zone) for hour in (26, 27, 28, 31, 32)}
        for zone in ZONES
    }
    assert sides["Europe/London"] == {(2026, 42), (2026, 43)}
    assert sides["America/New_York"] == {(2026, 42), (2026, 43)}
    assert sides["Pacific/Auckland"] == {(2026, 43)}
