"""Files of rows that are deleted, whichever way: with their comment, their film or their player."""

from typing import Any

from django.db.models.signals import post_delete

from devplans.feedback.models import Clip, Voice
from devplans.feedback.voices.keeping import forget_files


def watch() -> None:
    post_delete.connect(_voice_deleted, sender=Voice, dispatch_uid="feedback.voice_deleted")
    post_delete.connect(_clip_deleted, sender=Clip, dispatch_uid="feedback.clip_deleted")


def _voice_deleted(instance: Voice, **_rest: Any) -> None:
    forget_files([instance.sound_key])


def _clip_deleted(instance: Clip, **_rest: Any) -> None:
    forget_files([instance.video_key, instance.still_key])
