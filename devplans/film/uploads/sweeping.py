"""Clearing what was not gone on with, and what killed processes left."""

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from devplans.film import intake, preparing
from devplans.film.models import Fetch, Film, Upload
from devplans.film.uploads.store import parts

log = logging.getLogger(__name__)


def sweep_uploads(*, now: datetime | None = None) -> int:
    """Give up what was not gone on with in time, and clear what killed processes left; how many.

    The drafts on a film that never arrived are kept: it only fails, with a sentence that says why.
    """
    now = now or timezone.now()
    count = 0
    for film in Film.objects.abandoned(now - timedelta(days=settings.UPLOAD_DAYS), now):
        count += _give_up(film)
    return count + _clear_strays() + _clear_orphans(now)


def _give_up(film: Film) -> int:
    with transaction.atomic():
        locked = Film.objects.select_for_update().get(pk=film.pk)
        if not locked.is_uploading:
            return 0
        handles = list(Upload.objects.filter(file__film=film).values_list("handle", flat=True))
        locked.state = Film.State.FAILED
        message = _("The film did not arrive whole within %(count)s days. Upload it again.")
        locked.problem = message % {"count": settings.UPLOAD_DAYS}
        locked.save(update_fields=["state", "problem", "updated_at"])
        locked.files.all().delete()
    for handle in handles:
        parts().abort(handle)
    preparing.remove_files(film.pk)
    return 1


def _clear_strays() -> int:
    store = parts()
    known = set(Upload.objects.open().values_list("handle", flat=True))
    known |= set(Fetch.objects.running().values_list("handle", flat=True))
    strays = store.strays(known)
    for handle in strays:
        store.abort(handle)
    return len(strays)


def _clear_orphans(now: datetime) -> int:
    """Files of films that have no row: their process was killed between keeping and noting."""
    found = intake.orphans(now, known=lambda keys: Film.objects.in_bulk(keys))
    for film_id in found:
        log.warning("film %s: its files are there and its row is not; removed", film_id)
        preparing.remove_files(film_id)
    return len(found)
