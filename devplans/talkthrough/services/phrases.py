"""What a club says for a skill, beside what every club says."""

from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from devplans.catalogue.models import Skill
from devplans.core import audit
from devplans.core.errors import DomainError
from devplans.people import access
from devplans.people.access import Action
from devplans.people.models import Club
from devplans.talkthrough.models import SkillPhrase
from devplans.talkthrough.understand.words import folded

LONGEST = 60
MOST = 500


def add_phrase(*, actor: Any, club: Club, skill: Skill, text: str) -> SkillPhrase:
    """From now on `text` speaks of `skill` in this club.

    Raises PermissionDenied, and DomainError "phrase.empty", "phrase.long", "phrase.known",
    "phrase.skill" or "phrase.many".
    """
    access.require(actor, Action.KEEP_CATALOGUE, club)
    words = folded(text)
    if len(words) < 3:
        raise DomainError("phrase.empty", _("Write at least three letters."), field="text")
    if len(words) > LONGEST:
        raise DomainError("phrase.long", _("Keep it under 60 characters."), field="text")
    if skill.retired_at is not None or skill.club_id not in {None, club.pk}:
        raise DomainError("phrase.skill", _("Pick a skill from the catalogue."), field="skill")
    mine = SkillPhrase.objects.of_club(club)
    known = mine.filter(text=words).first()
    if known is not None:
        message = _("That already means %(skill)s here.") % {"skill": known.skill.name}
        raise DomainError("phrase.known", message, field="text")
    if mine.count() >= MOST:
        raise DomainError("phrase.many", _("There are 500 already: delete some first."))
    try:
        with transaction.atomic():
            made = SkillPhrase.objects.create(club=club, skill=skill, text=words)
            audit.record(actor, "talkthrough.phrase_added", made, club_id=club.pk)
    except IntegrityError as error:
        raise DomainError("phrase.known", _("That is here already."), field="text") from error
    return made


@transaction.atomic
def delete_phrase(*, actor: Any, phrase: SkillPhrase) -> None:
    """Raises PermissionDenied."""
    access.require(actor, Action.KEEP_CATALOGUE, phrase.club)
    audit.record(actor, "talkthrough.phrase_deleted", phrase, club_id=phrase.club_id)
    phrase.delete()
