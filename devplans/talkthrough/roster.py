"""Whom and what a talk over a film may mean: the squad with its learned spellings, the skills in
use with the club's own words for them."""

from collections import defaultdict
from uuid import UUID

from devplans.feedback import reading
from devplans.feedback import roster as comments_roster
from devplans.film.models import Film
from devplans.people.models import Club
from devplans.talkthrough.models import Alias, SkillPhrase
from devplans.talkthrough.rosters import nicknames_in, without_nicknames
from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.words import folded


def of_film(film: Film) -> list[RosterPlayer]:
    """The players that a comment on `film` may have, by number; `key` is the player's id.

    The number is that of the film's day; heard_as is what this squad's coaches confirmed.
    """
    heard: dict[UUID, list[str]] = defaultdict(list)
    for player_id, words in Alias.objects.of_squad(film.squad).values_list("player", "heard"):
        heard[player_id].append(words)
    found = []
    for entry in comments_roster.roster(film):
        player = entry.player
        found.append(
            RosterPlayer(
                key=str(player.pk),
                number=entry.number,
                first=without_nicknames(player.first_name),
                last=without_nicknames(player.last_name),
                nicknames=nicknames_in(player.full_name),
                heard_as=tuple(heard[player.pk]),
            )
        )
    return found


def names_of(player: RosterPlayer) -> set[str]:
    """All that a player is called, folded: first name, last name, both, nicknames."""
    names = {player.first, player.last, f"{player.first} {player.last}", *player.nicknames}
    return {folded(name) for name in names if name.strip()}


def phrases_of(club: Club) -> list[tuple[str, str]]:
    """(slug, words) that mean a skill in this club beside what every club says: the names of its
    own skills, and the phrases that it has added."""
    own = [(one.slug, one.name) for one in reading.skills_for(club) if one.club_id]
    added = SkillPhrase.objects.of_club(club).usable()
    return own + [(phrase.skill.slug, phrase.text) for phrase in added]


def lexicon(club: Club) -> Lexicon:
    """The lexicon of the trade with the club's own words."""
    return Lexicon.load().with_phrases(phrases_of(club))
