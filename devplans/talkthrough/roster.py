"""Whom and what a talk over a film may mean: the squad with its learned spellings, the skills in
use with the club's own words for them."""

import re
from collections import defaultdict
from uuid import UUID

from devplans.feedback import reading
from devplans.feedback import roster as comments_roster
from devplans.film.models import Film
from devplans.people.models import Club
from devplans.talkthrough.models import Alias, SkillPhrase
from devplans.talkthrough.understand.parts import RosterPlayer
from devplans.talkthrough.understand.skills import Lexicon
from devplans.talkthrough.understand.words import folded

# A nickname as rosters write it: Maeve "Mo" Okonjo, or Maeve (Mo).
NICKNAME = re.compile(r"[\"“”(\[]\s*([^\"“”()\[\]]+?)\s*[\"“”)\]]")


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
        nicknames = NICKNAME.findall(player.full_name)
        found.append(
            RosterPlayer(
                key=str(player.pk),
                number=entry.number,
                first=_bare(player.first_name),
                last=_bare(player.last_name),
                nicknames=tuple(nicknames),
                heard_as=tuple(heard[player.pk]),
            )
        )
    return found


def _bare(name: str) -> str:
    return " ".join(NICKNAME.sub(" ", name).split())


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
