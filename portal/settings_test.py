"""The settings of the tests: what must be fast or kept apart, nothing else."""

import atexit
import os
import shutil
import tempfile
from urllib.parse import urlsplit, urlunsplit

os.environ.setdefault("PORTAL_MODE", "test")
# The browser's driver runs an event loop in the tests' own thread.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
if "DATA_DIR" not in os.environ:
    os.environ["DATA_DIR"] = tempfile.mkdtemp(prefix="portal-test-")
    atexit.register(shutil.rmtree, os.environ["DATA_DIR"], ignore_errors=True)

from portal.settings import *  # noqa: F403
from portal.settings import CACHE_URL, CACHES, DATABASE_URL, DATABASES, STORAGES, env

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_TASK_ALWAYS_EAGER = True
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
if not DATABASE_URL:
    DATABASES["default"]["TEST"] = {"NAME": os.path.join(os.environ["DATA_DIR"], "test.sqlite3")}
if env.text("REDIS_URL"):
    # Tests run side by side, and each empties its cache: one numbered database for each runner.
    number = 1 + int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
    CACHES["default"]["LOCATION"] = urlunsplit(urlsplit(CACHE_URL)._replace(path=f"/{number}"))
else:
    CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
