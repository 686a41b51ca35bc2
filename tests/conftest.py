from types import SimpleNamespace

import hypothesis
import pytest
from django.db import connection

from tests import cast as people
from tests.services import browser, chromium, empty_cache, redis_url  # noqa: F401

# A busy machine makes a slow example, not a wrong one.
hypothesis.settings.register_profile("tests", deadline=None)
hypothesis.settings.load_profile("tests")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """PostgreSQL's autovacuum sees no row of a test's open transaction: it would tell the planner
    that full tables are empty, and a query of milliseconds may then run for minutes."""
    with django_db_blocker.unblock():
        if connection.vendor != "postgresql":
            return
        with connection.cursor() as cursor:
            for table in connection.introspection.table_names():
                cursor.execute(f'ALTER TABLE "{table}" SET (autovacuum_enabled = off)')


@pytest.fixture
def cast(db: None) -> SimpleNamespace:
    """One club and outsiders; see tests/cast.py."""
    return people.build()


def media_in(folder):
    """STORAGES with the media in `folder`."""
    return {
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": folder},
        },
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


@pytest.fixture(autouse=True)
def own_media(settings, tmp_path):
    """Each test keeps its files to itself."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.MAIL_DIR = tmp_path / "mail"
    settings.STORAGES = media_in(settings.MEDIA_ROOT)
