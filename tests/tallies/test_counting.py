"""A tally from its start to its closing."""

from collections import Counter
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry
from devplans.stats.sampling import ratio_estimate
from devplans.tallies import services
from devplans.tallies.models import Tally, TallyMark, TallyPossession, TallyWeek
from tests import factories as make


def refused(call, **more):
    with pytest.raises(DomainError) as caught:
        call(**more)
    return caught.value.code


def test_nobody_but_the_squads_coaches_counts(people, counts):
    for somebody in (people.director, people.other_coach, people.guardian, people.outsider):
        with pytest.raises(PermissionDenied):
            counts.start(coach=somebody)
    assert not Tally.objects.exists()


def test_one_to_three_skills(people, counts):
    skills = [people.skill, *(make.make_skill() for _number in range(3))]
    assert refused(counts.start, skills=[]) == "tally.skills"
    assert refused(counts.start, skills=skills) == "tally.skills"
    assert counts.start(skills=skills[:3]).skills.count() == 3


def test_no_players_means_the_whole_squad_and_nobody_from_elsewhere(people, counts):
    assert set(counts.start(players=[]).players.all()) == {people.kid, people.mate, people.adult}
    assert refused(counts.start, players=[people.sibling]) == "tally.players"


def test_a_film_that_is_not_ready_cannot_be_counted(people, counts):
    film = make.make_film(people.squad, state="preparing")
    assert refused(counts.start, film=film) == "tally.film"


def test_the_same_is_not_counted_twice_by_one_coach(people, counts):
    counts.start()
    assert refused(counts.start) == "tally.twice"
    counts.start(players=[people.mate])
    counts.start(skills=[people.other_skill])
    counts.start(coach=people.second_coach)
    assert Tally.objects.count() == 4


def test_a_sample_needs_possessions(people, counts):
    assert refused(counts.start, scope="sample") == "tally.possessions"
    assert not Tally.objects.exists()


def test_a_sample_is_drawn_at_random_and_fixed(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=10)
    first = list(tally.possessions.filter(place__lt=10).values_list("start_ms", flat=True))
    assert (tally.drawn, tally.possessions.count(), len(set(first))) == (10, 40, 10)
    assert first != sorted(first)
    possessions[0].delete()
    people.film.possessions.create(side="ours", start_ms=11_000, end_ms=12_000)
    again = list(tally.possessions.filter(place__lt=10).values_list("start_ms", flat=True))
    assert again == first


def test_every_possession_is_drawn_equally_often(people, possessions, counts):
    drawn = Counter()
    for _draw in range(120):
        tally = counts.start(scope="sample", drawn=10)
        drawn.update(tally.possessions.filter(place__lt=10).values_list("start_ms", flat=True))
        tally.delete()
    # 30 each on average, standard deviation 4.7: all 40 within four of them.
    assert len(drawn) == 40
    assert all(11 <= count <= 49 for count in drawn.values()), drawn


def test_a_sample_of_one_side(people, possessions, counts):
    tally = counts.start(scope="sample", side="theirs")
    assert set(tally.possessions.values_list("side", flat=True)) == {"theirs"}
    assert tally.possessions.count() == 20


def test_twenty_more_leave_the_first_ones_in_place(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=10)
    before = set(tally.possessions.filter(place__lt=10).values_list("pk", flat=True))
    tally = services.draw_more(actor=people.coach, tally=tally)
    after = set(tally.possessions.filter(place__lt=tally.drawn).values_list("pk", flat=True))
    assert tally.drawn == 30
    assert before < after
    assert services.draw_more(actor=people.coach, tally=tally).drawn == 40
    assert refused(services.draw_more, actor=people.coach, tally=tally) == "tally.all_drawn"
    assert refused(services.draw_more, actor=people.coach, tally=counts.start()) == "tally.whole"


def test_a_mark_sent_again_is_there_once(people, counts):
    tally = counts.start()
    chance = services.Chance(uuid4(), 5_000, people.kid.pk, people.skill.pk, True)
    for _time in range(3):
        answer = services.keep_marks(actor=people.coach, tally=tally, chances=[chance])
        assert (answer.kept, answer.refused) == ([chance.id], {})
    assert TallyMark.objects.get().film_ms == 5_000


def test_undone_stays_undone_even_when_the_mark_comes_late(people, counts):
    tally = counts.start()
    one = {"id": uuid4(), "film_ms": 5_000, "player": people.kid.pk, "skill": people.skill.pk}
    made = services.Chance(**one, did_it=True)
    undone = services.Chance(**one, did_it=True, undone=True)
    for chances in ([made], [undone], [made], [undone]):
        services.keep_marks(actor=people.coach, tally=tally, chances=chances)
    assert not TallyMark.objects.of_tally(tally).exists()
    never_sent = services.Chance(**(one | {"id": uuid4()}), did_it=True, undone=True)
    services.keep_marks(actor=people.coach, tally=tally, chances=[never_sent])
    assert not TallyMark.objects.of_tally(tally).exists()


def test_what_cannot_be_a_mark_is_refused_and_the_rest_kept(people, possessions, counts):
    tally = counts.start()
    other = counts.start(coach=people.second_coach)
    taken = services.Chance(uuid4(), 1_000, people.kid.pk, people.skill.pk, True)
    services.keep_marks(actor=people.second_coach, tally=other, chances=[taken])
    good = services.Chance(uuid4(), 1_000, people.kid.pk, people.skill.pk, True)
    bad = [
        services.Chance(uuid4(), 600_001, people.kid.pk, people.skill.pk, True),
        services.Chance(uuid4(), 1_000, people.mate.pk, people.skill.pk, True),
        services.Chance(uuid4(), 1_000, people.kid.pk, people.other_skill.pk, True),
        services.Chance(taken.id, 1_000, people.kid.pk, people.skill.pk, True),
    ]
    answer = services.keep_marks(actor=people.coach, tally=tally, chances=[*bad, good])
    assert answer.kept == [good.id]
    assert set(answer.refused) == {one.id for one in bad}
    assert all(answer.refused.values())
    assert TallyMark.objects.of_tally(other).count() == 1


def test_a_mark_of_a_sample_lies_in_a_drawn_possession(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=10)
    first = tally.possessions.get(place=0)
    start = first.start_ms
    in_it, not_drawn = (start + 100, True, 0), (start + 100, True, 12)
    nowhere, far_off = (start + 100, True), ((start + 300_000) % 600_000, True, 0)
    answer = counts.mark(tally, in_it, not_drawn, nowhere, far_off)
    assert len(answer.kept) == 1
    assert TallyMark.objects.get().possession == first


def test_only_the_one_who_counts_marks_and_closes(people, counts):
    tally = counts.start()
    for call in (services.close_tally, services.reopen_tally, services.delete_tally):
        with pytest.raises(PermissionDenied):
            call(actor=people.second_coach, tally=tally)
    with pytest.raises(PermissionDenied):
        services.keep_marks(actor=people.second_coach, tally=tally, chances=[])


def test_a_whole_film_is_closed_when_it_was_watched_to_its_end(people, counts):
    tally = counts.start()
    counts.mark(tally, (1_000, True))
    close = {"actor": people.coach, "tally": tally}
    assert refused(services.close_tally, **close) == "tally.unwatched"
    services.keep_marks(actor=people.coach, tally=tally, chances=[], reached_ms=595_000)
    assert services.close_tally(**close).closed_at


def test_a_sample_is_closed_when_all_of_it_was_played(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=10)
    services.keep_marks(actor=people.coach, tally=tally, chances=[], seen=range(9))
    close = {"actor": people.coach, "tally": tally, "sure": True}
    assert refused(services.close_tally, **close) == "tally.unseen"
    services.keep_marks(actor=people.coach, tally=tally, chances=[], seen=[9])
    assert services.close_tally(**close).closed_at


def test_week_rows_come_and_go_with_the_closing(people, counts):
    # Sunday half past eleven at night in London, but Monday in Auckland.
    type(people.film).objects.update(recorded_at=datetime(2026, 11, 22, 23, 30, tzinfo=UTC))
    people.film.refresh_from_db()
    tally = counts.start(players=[people.kid, people.mate])
    counts.mark(tally, (1_000, True), (2_000, True), (3_000, False))
    assert not TallyWeek.objects.exists()
    counts.close(tally)
    row = TallyWeek.objects.get()
    assert (row.player, row.made, row.tried, row.low) == (people.kid, 2, 3, None)
    assert (row.iso_year, row.iso_week) == (2026, 47)
    services.reopen_tally(actor=people.coach, tally=tally)
    assert not TallyWeek.objects.exists()
    people.club.zone = "Pacific/Auckland"
    people.club.save()
    tally = counts.close(Tally.objects.get())
    assert TallyWeek.objects.get().iso_week == 48
    assert [entry.verb for entry in AuditEntry.objects.filter(table="tallies.tally")].count(
        "tallies.tally_reopened"
    ) == 1


def test_a_sampled_week_keeps_its_own_interval(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=20)
    starts = dict(tally.possessions.values_list("place", "start_ms"))
    counts.mark(tally, *((starts[place] + 500, place % 3 > 0, place) for place in range(12)))
    counts.close(tally)
    row = TallyWeek.objects.get()
    held = [(place % 3 > 0, 1) for place in range(12)]
    expected = ratio_estimate([*held, *[(0, 0)] * 8], possessions=40)
    assert (row.made, row.tried) == (8, 12)
    assert (row.low, row.high) == (expected.low, expected.high)


def test_a_sample_of_everything_counts_as_whole(people, possessions, counts):
    tally = counts.start(scope="sample", drawn=40)
    counts.mark(tally, (tally.possessions.get(place=3).start_ms, True, 3))
    counts.close(tally)
    assert TallyWeek.objects.get().low is None


def test_a_closed_count_takes_no_marks_but_says_what_it_has(people, counts):
    tally = counts.start()
    chance = services.Chance(uuid4(), 5_000, people.kid.pk, people.skill.pk, True)
    late = services.Chance(uuid4(), 6_000, people.kid.pk, people.skill.pk, True)
    services.keep_marks(actor=people.coach, tally=tally, chances=[chance])
    counts.close(tally)
    answer = services.keep_marks(actor=people.coach, tally=tally, chances=[chance, late])
    assert answer.kept == [chance.id]
    assert list(answer.refused) == [late.id]
    assert refused(services.delete_tally, actor=people.coach, tally=tally) == "tally.closed"


def test_an_open_count_is_thrown_away_with_its_marks(people, possessions, counts):
    tally = counts.start(scope="sample")
    services.delete_tally(actor=people.coach, tally=tally)
    assert not TallyPossession.objects.exists()
    assert AuditEntry.objects.filter(verb="tallies.tally_deleted").exists()


def test_who_counts_does_not_see_the_others_count(people, counts):
    mine, theirs = counts.start(), counts.start(coach=people.second_coach)
    seen = lambda user: set(Tally.objects.visible_to(user))  # noqa: E731
    assert seen(people.coach) == {mine}
    assert seen(people.director) == set()
    counts.close(theirs)
    assert seen(people.coach) == {mine}
    assert seen(people.director) == {theirs}
    counts.close(mine)
    assert seen(people.coach) == seen(people.second_coach) == {mine, theirs}
    for somebody in (people.guardian, people.player, people.welfare, people.other_coach):
        assert seen(somebody) == set()
