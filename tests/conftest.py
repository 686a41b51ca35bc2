from types import SimpleNamespace

import hypothesis
import pytest

from tests import cast as people
from tests.services import chromium, empty_cache, redis_url  # noqa: F401

# A busy machine makes a slow example, not a wrong one.
hypothesis.settings.register_profile("tests", deadline=None)
hypothesis.settings.load_profile("tests")


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
