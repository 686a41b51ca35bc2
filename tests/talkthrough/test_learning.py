"""What a coach corrects in one film is known in the next: a squad whose names captions never get
right, and two talks that were written before anything was measured."""

import pytest

from devplans.talkthrough import captions, roster
from devplans.talkthrough.models import Suggestion, TalkThrough
from devplans.talkthrough.services import cutting, suggestions, transcripts
from devplans.talkthrough.understand import understand
from devplans.talkthrough.understand.parts import Suggested, Understood
from devplans.talkthrough.understand.words import folded
from tests import factories as make
from tests.talkthrough import scoring
from tests.talkthrough.labelled import FOLDER, read_script

pytestmark = [pytest.mark.django_db, pytest.mark.once, pytest.mark.long]


def links(script, understood):
    """(recall, precision) of the players that are filled in."""
    counts = [row.links for row in scoring.score([(script, understood)]).rows]
    return scoring.recall(counts), scoring.precision(counts)


def heard_now(film, script, numbers):
    """The script as it is understood with what the squad knows by now; players by number."""
    squad = roster.of_film(film)
    found = understand(captions.read(script.transcript).cues, squad)
    return Understood(tuple(_by_number(one, numbers) for one in found.suggestions), found.left_out)


def _by_number(one, numbers):
    named = {"players": tuple(numbers[key] for key in one.players),
             "unsure": tuple(numbers[key] for key in one.unsure)}  # fmt: skip
    return Suggested(**{**vars(one), **named})


def correct(coach, talk, script, by_number, numbers):
    """As a coach would: where two things became one suggestion he cuts it, each gets whom its words
    were about, and he says yes to a spelling unless somebody else is spoken of with those words.
    How often he cut, and how often he named somebody."""
    cuts = sum(cut_before(coach, talk, moment) for moment in script.moments)
    named = 0
    for row in rows_of(script, talk, numbers):
        moment, one = row.moment, row.suggestion
        if moment is None or one is None:
            continue
        suggestion = Suggestion.objects.get(pk=one.said)
        has = {numbers[str(player.pk)] for player in suggestion.players.all()}
        if has == set(moment.players):
            continue
        named += 1
        wanted = [by_number[number] for number in moment.players]
        if not has and len(wanted) == 1 and str(wanted[0].pk) in suggestion.unsure:
            done = suggestions.pick_player(actor=coach, suggestion=suggestion, player=wanted[0])
        else:
            done = suggestions.edit(
                actor=coach, suggestion=suggestion, players=wanted, skill=suggestion.skill,
                verdict=suggestion.verdict, happened=suggestion.happened,
                do_instead=suggestion.do_instead, start_ms=suggestion.start_ms,
                end_ms=suggestion.end_ms,
            )  # fmt: skip
        for ask in done.asks:
            number = numbers[ask.key]
            others = [one.said for one in script.moments if number not in one.players]
            if not any(f" {ask.heard} " in f" {folded(said)} " for said in others):
                suggestions.answer(
                    actor=coach, suggestion=suggestion, player=by_number[number], heard=ask.heard
                )
    return cuts, named


def cut_before(coach, talk, moment):
    """Cut where these words begin inside of a suggestion; were they?"""
    said = folded(moment.said)
    for one in Suggestion.objects.of_talk(talk).open():
        words = folded(one.said)
        place = words.find(said)
        if place > 0 and one.said[place - 1] == " ":
            at = len(words[:place].split())
            cutting.split(actor=coach, suggestion=one, at=at)
            return True
        if place == 0 and len(words) > len(said) + 1:
            cutting.split(actor=coach, suggestion=one, at=len(said.split()))
            return True
    return False


def rows_of(script, talk, numbers):
    """Which suggestion belongs to which label; its key stands where its words were."""
    told = tuple(
        Suggested(
            one.sound_start_ms, one.sound_end_ms,
            tuple(numbers[str(p.pk)] for p in one.players.all()),
            tuple(numbers[key] for key in one.unsure), (), (), one.verdict, "", "", str(one.pk),
        )
        for one in Suggestion.objects.of_talk(talk)
    )  # fmt: skip
    return scoring.score([(script, Understood(told, ()))]).rows


def test_the_next_film_knows_what_was_corrected(cast, capsys):
    first, second = (read_script(FOLDER / "learning" / f"{name}.txt") for name in ("one", "two"))
    by_number, numbers = {}, {}
    squad = make.make_squad(season=cast.season)
    coach = make.make_user("Oswin")
    make.make_member(coach, "coach", club=cast.club, squad=squad)
    for row in first.roster:
        given, family = row["name"].split()
        player = make.make_player(
            squad=squad, number=row["number"], first_name=given, last_name=family
        )
        by_number[row["number"]], numbers[str(player.pk)] = player, row["number"]
    films = [make.make_film(squad, duration_ms=600_000) for _ in range(2)]
    before, precision_before = links(second, heard_now(films[1], second, numbers))
    read = captions.read(first.transcript)
    talk = transcripts.add_transcript(actor=coach, film=films[0], transcript=read)
    transcripts.begin(talk=talk)
    talk = TalkThrough.objects.with_film().get(pk=talk.pk)
    cuts, named = correct(coach, talk, first, by_number, numbers)
    after, precision_after = links(second, heard_now(films[1], second, numbers))
    learned = sorted((alias.heard, alias.player.first_name) for alias in squad.aliases.all())
    with capsys.disabled():
        print(f"\nfilm 1: {cuts} cuts, {named} players named, learned: {learned}")
        print(f"film 2: recall {before:.2f} before, {after:.2f} after; "
              f"precision {precision_before:.2f} before, {precision_after:.2f} after")  # fmt: skip
    assert after > before
    assert after >= 0.75
    assert precision_after >= 0.85
