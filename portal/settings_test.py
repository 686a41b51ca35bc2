"""The settings of the tests: what must be fast or kept apart, nothing else."""

import os
import tempfile

os.environ.setdefault("PORTAL_MODE", "test")
os.environ.setdefault("DATA_DIR", tempfile.mkdtemp(prefix="portal-test-"))

from portal.settings import *  # noqa: E402, F403
from portal.settings import DATABASE_URL, DATABASES, env  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_TASK_ALWAYS_EAGER = True
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
if not DATABASE_URL:
    DATABASES["default"]["TEST"] = {"NAME": None}
if not env.text("REDIS_URL"):
    CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
