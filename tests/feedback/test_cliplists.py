"""Clip lists: their order, their running time, who may watch what of them, and names hidden."""

import re
from datetime import timedelta
from fractions import Fraction

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from devplans.core.errors import DomainError
from devplans.feedback.cliplists import reading, services
from devplans.feedback.cliplists.times import moved, running_ms
from devplans.feedback.models import ClipList, ClipListItem
from tests import factories as make
from tests.film import films

KIND = films.Kind("list", films.steady(300), Fraction(1, 30), options={"g": "30"})


def order(room) -> list[int]:
    """The clips as they stand, by the place that they were added at."""
    keys = [item.pk for item in room.items]
    standing = room.list.items.standing().order_by("position", "pk")
    return [keys.index(item.pk) for item in standing]


def test_comments_bring_their_span_and_nothing_that_was_said(listed):
    first, second, third, fourth = listed.items
    assert (first.start_ms, first.end_ms) == (17_000, 23_000)
    assert (second.start_ms, second.end_ms) == (29_000, 35_000)
    assert (third.length_ms, fourth.length_ms) == (2_500, 2_500)
    assert {item.note for item in listed.items} == {""}
    shown = reading.shown(listed.coach, listed.list)
    assert shown.running_ms == 6_000 + 6_000 + 2_500 + 2_500
    told = ClipList.objects.visible_to(listed.coach).told().get()
    assert (told.clip_count, told.running_ms) == (4, 17_000)


@given(st.lists(st.integers(0, 30), unique=True, min_size=1), st.data())
def test_moving_keeps_the_others_in_their_order(keys, data):
    one = data.draw(st.sampled_from(keys))
    after = data.draw(st.sampled_from([None, *keys]))
    found = moved(keys, one, after)
    assert sorted(found) == sorted(keys)
    assert [key for key in found if key != one] == [key for key in keys if key != one]
    if after is None:
        assert found[0] == one
    elif after != one:
        assert found.index(one) == found.index(after) + 1


@given(st.lists(st.tuples(st.integers(0, 10**6), st.integers(1, 30_000))))
def test_the_running_time_is_the_sum_of_the_spans(spans):
    total = running_ms((start, start + length) for start, length in spans)
    assert total == sum(length for _start, length in spans)


def test_up_down_out_and_back(listed):
    steps = {"actor": listed.coach}
    services.step_item(item=listed.items[2], by=-1, **steps)
    assert order(listed) == [0, 2, 1, 3]
    services.step_item(item=listed.items[0], by=-1, **steps)
    assert order(listed) == [0, 2, 1, 3]
    services.remove_item(item=listed.items[2], **steps)
    assert order(listed) == [0, 1, 3]
    # A step goes past the neighbour that is seen, not past one that was taken out.
    services.step_item(item=listed.items[1], by=-1, **steps)
    assert order(listed) == [1, 0, 3]
    services.restore_item(item=listed.items[2], **steps)
    assert sorted(order(listed)) == [0, 1, 2, 3]
    before = services.move_item(item=listed.items[3], after=None, **steps)
    assert order(listed)[0] == 3
    services.move_item(item=listed.items[3], after=before, **steps)
    assert order(listed)[-1] == 3


def test_two_coaches_who_looked_at_the_same_list_both_get_what_they_asked_for(listed):
    """Both see 0 1 2 3. One puts 3 behind 0, the other takes 0 out, and puts 2 behind 0."""
    mine = {"actor": listed.coach}
    stale = [ClipListItem.objects.get(pk=item.pk) for item in listed.items]
    services.move_item(item=stale[3], after=stale[0].pk, **mine)
    services.remove_item(item=stale[0], **mine)
    services.move_item(item=stale[2], after=stale[0].pk, **mine)
    assert order(listed) == [2, 3, 1]
    positions = listed.list.items.values_list("position", flat=True)
    assert sorted(positions) == [0, 1, 2, 3]


@pytest.mark.django_db(transaction=True)
def test_the_order_is_kept_when_two_change_it_at_once(listed):
    """Eight threads move, take out and put back; nothing is lost and no place is taken twice."""
    if connection.vendor == "sqlite" and connection.is_in_memory_db():
        pytest.skip("one connection to a database in memory: nobody can be beside anybody")
    from threading import Thread

    faults = []

    def work(number: int) -> None:
        try:
            for turn in range(6):
                item = listed.items[(number + turn) % 4]
                after = listed.items[(number * 3 + turn) % 4].pk
                services.move_item(actor=listed.coach, item=item, after=after)
                if number == 0:
                    services.remove_item(actor=listed.coach, item=item)
                    services.restore_item(actor=listed.coach, item=item)
        except Exception as error:  # noqa: BLE001
            faults.append(error)
        finally:
            connection.close()

    workers = [Thread(target=work, args=(number,)) for number in range(8)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert faults == []
    rows = listed.list.items.order_by("position").values_list("position", "removed_at")
    assert list(rows) == [(place, None) for place in range(4)]


def test_what_cannot_be_put_on_a_list_is_refused_with_the_reason(listed):
    spans = {"actor": listed.coach, "clip_list": listed.list, "film": listed.film}
    for start, end, code in [
        (2_000, 1_000, "end_ms.order"), (2_000, 2_100, "end_ms.order"),
        (0, 31_000, "end_ms.long"), (80_000, 95_000, "end_ms.range"),
    ]:  # fmt: skip
        with pytest.raises(DomainError) as refused:
            services.add_span(start_ms=start, end_ms=end, **spans)
        assert refused.value.code == code
    other = make.make_film(listed.other_squad)
    with pytest.raises(DomainError, match="another squad"):
        services.add_span(**{**spans, "film": other}, start_ms=0, end_ms=2_000)
    waiting = make.make_film(listed.squad, state="waiting", duration_ms=None)
    with pytest.raises(DomainError, match="not ready"):
        services.add_span(**{**spans, "film": waiting}, start_ms=0, end_ms=2_000)
    with pytest.raises(DomainError, match="title"):
        services.add_list(actor=listed.coach, squad=listed.squad, title=" ")
    for actor in (listed.director, listed.other_coach, listed.player, listed.outsider):
        with pytest.raises(PermissionDenied):
            services.add_list(actor=actor, squad=listed.squad, title="Talk")
        with pytest.raises(PermissionDenied):
            services.remove_item(actor=actor, item=listed.items[0])


def test_a_second_list_has_the_clips_and_is_for_coaches_only(listed):
    make.give_consent(listed.adult)
    services.open_list(actor=listed.coach, clip_list=listed.list, open_to="squad")
    services.remove_item(actor=listed.coach, item=listed.items[1])
    second = services.duplicate_list(actor=listed.coach, clip_list=listed.list)
    assert second.open_to == "coaches"
    assert [item.start_ms for item in second.items.order_by("position")] == [17_000, 1_000, 50_000]


# Whoever coaches may work; each change can be undone


def test_each_change_on_the_page_can_be_undone(listed, client):
    client.force_login(listed.coach)
    page = {"HX-Request": "true"}
    first, second = listed.items[:2]

    def press(route, item, **fields):
        address = reverse(f"feedback:cliplist-{route}", args=[listed.list.pk, item.pk])
        return client.post(address, fields, headers=page)

    def undo(answer):
        form = re.search(r'cliplist-undo" method="post" action="([^"]+)"(.*?)<span', answer.text)
        fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[2]))
        fields.pop("csrfmiddlewaretoken", None)
        return client.post(form[1], fields, headers=page)

    before = order(listed)
    moved_on = press("move", first, after=str(second.pk))
    assert order(listed) == [1, 0, 2, 3]
    undo(moved_on)
    assert order(listed) == before
    gone = press("remove", second)
    assert order(listed) == [0, 2, 3]
    undo(gone)
    assert order(listed) == before
    told = {"note": "Feet first", "start_ms": "0:18", "end_ms": "0:22.5"}
    changed = press("item", first, **told)
    first.refresh_from_db()
    assert (first.note, first.start_ms, first.end_ms) == ("Feet first", 18_000, 22_500)
    undo(changed)
    first.refresh_from_db()
    assert (first.note, first.start_ms, first.end_ms) == ("", 17_000, 23_000)
    refused = press("item", first, note="", start_ms="0:18", end_ms="0:60")
    assert refused.status_code == 422
    assert "minutes and seconds" in refused.text


def test_comments_are_found_by_skill_player_verdict_and_day(listed):
    other = make.make_skill(name="Spacing")
    late = make.make_film(listed.squad, recorded_at=timezone.now() - timedelta(days=40))
    old = make.make_comment(late, listed.coach, [listed.mate], skill=other, verdict="did_it")
    taken = make.make_comment(late, listed.coach, [listed.mate], withdrawn_at=timezone.now())
    theirs = make.make_comment(listed.film, listed.other_coach, [listed.kid])
    day = timezone.localdate()

    def found(**wanted):
        asked = reading.Wanted(**wanted)
        return list(reading.candidates(listed.coach, listed.squad, asked))

    assert found() == [*listed.said, old]
    assert taken not in found()
    assert theirs not in found()
    assert found(skill=other) == [old]
    assert found(player=listed.mate) == [listed.said[1], old]
    assert found(verdict="did_it") == [old]
    assert found(since=day - timedelta(days=7)) == listed.said
    assert found(until=day - timedelta(days=7)) == [old]


def test_a_comment_and_a_span_go_on_a_new_list_and_come_off_again(listed, client):
    client.force_login(listed.coach)
    pick = reverse("feedback:cliplist-pick", args=[listed.said[0].pk])
    empty = client.post(pick, {"title": ""}, headers={"HX-Request": "true"})
    assert empty.status_code == 422
    assert ClipList.objects.count() == 1
    answer = client.post(pick, {"title": "Help side"}, headers={"HX-Request": "true"})
    made = ClipList.objects.get(title="Help side")
    assert reverse("feedback:cliplist", args=[made.pk]) in answer.text
    assert made.items.get().comment == listed.said[0]
    span = reverse("feedback:cliplist-span", args=[listed.film.pk])
    wrong = {"clip_list": str(made.pk), "start_ms": "0:05", "end_ms": "0:50"}
    assert "30 seconds" in client.post(span, wrong, headers={"HX-Request": "true"}).text
    # The new list of a span that is refused is not left behind, empty.
    client.post(span, wrong | {"clip_list": "", "title": "Never"})
    assert not ClipList.objects.filter(title="Never").exists()
    client.post(span, wrong | {"end_ms": "0:09"})
    assert made.items.count() == 2


def test_a_bare_number_that_somebody_wears_is_told_to_the_coach(listed):
    listed.items[0].note = "12 comes late, at 0:12, with 45 seconds left, 31 % of the time."
    listed.items[0].save()
    shown = reading.shown(listed.coach, listed.list)
    assert shown.clips[0].bare_numbers == ["12"]


def test_the_page_of_a_long_list_asks_the_database_no_more_often(
    listed, django_assert_max_num_queries
):
    for _turn in range(3):
        services.add_comments(actor=listed.coach, clip_list=listed.list, comments=listed.said)
    with django_assert_max_num_queries(5):
        reading.programme(reading.shown(listed.coach, listed.list))
