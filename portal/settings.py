"""The only settings. Everything that differs between machines comes from the environment."""

from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

from portal import broker, env

BASE_DIR = Path(__file__).resolve().parent.parent

MODE = env.text("PORTAL_MODE", "dev")
if MODE not in {"dev", "test", "prod"}:
    raise env.SettingMissing(f"PORTAL_MODE must be dev, test or prod, not {MODE!r}.")
PROD = MODE == "prod"
DEBUG = False
DEMO = env.flag("PORTAL_DEMO") and not PROD

DATA_DIR = Path(env.text("DATA_DIR", None if PROD else str(BASE_DIR / "var"))).resolve()
PORT = env.number("PORT", 8000)
PUBLIC_URL = env.text("PUBLIC_URL", None if PROD else f"http://127.0.0.1:{PORT}").rstrip("/")
HTTPS = PUBLIC_URL.startswith("https:")
SECRET_KEY = env.text("SECRET_KEY", None if PROD else "not-a-secret-" + "x" * 50)
ALLOWED_HOSTS = [urlsplit(PUBLIC_URL).hostname or "localhost", "127.0.0.1", "localhost"]
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]

INSTALLED_APPS = [
    "portal.apps.PortalConfig",
    "devplans.core",
    "devplans.people",
    "devplans.catalogue",
    "devplans.schedule",
    "devplans.threads",
    "devplans.film",
    "devplans.feedback",
    "devplans.tallies",
    "devplans.talkthrough",
    "devplans.workouts",
    "devplans.goals",
    "devplans.progress",
    "devplans.digests",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "rest_framework",
    "drf_spectacular",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "portal.middleware.headers",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "portal.middleware.fragments",
    "portal.middleware.phones",
    "portal.pwa.person.person",
    "portal.middleware.demo_only_here",
    "portal.middleware.second_factor",
    "portal.middleware.club_time",
]

ROOT_URLCONF = "portal.urls"
WSGI_APPLICATION = "portal.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "portal" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "portal.context.navigation",
            ],
            "builtins": [
                "portal.templatetags.ui",
                "portal.templatetags.charts",
                "portal.templatetags.drawings",
                "django.templatetags.i18n",
                "django.templatetags.static",
            ],
        },
    }
]

DATABASE_URL = env.text("DATABASE_URL", "")
CONN_MAX_AGE = 600
DATABASES = {
    "default": env.database(DATABASE_URL, conn_max_age=CONN_MAX_AGE)
    if DATABASE_URL
    else env.sqlite(str(DATA_DIR / "portal.sqlite3"))
}

# The embedded broker listens on a private socket in DATA_DIR; its path is known before it runs.
REDIS_URL = env.text("REDIS_URL", broker.queue_url(DATA_DIR))
CACHE_URL = REDIS_URL.replace("redis+socket://", "unix://")
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CACHE_URL}
}
SESSION_ENGINE = "django.contrib.sessions.backends.db"

# People and sign-in
AUTH_USER_MODEL = "people.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "/accounts/login/"
LOGIN_REDIRECT_URL = "/"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
ACCOUNT_ADAPTER = "portal.accounts.adapter.InvitedOnlyAdapter"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False
ACCOUNT_PREVENT_ENUMERATION = True
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = 900
ACCOUNT_LOGIN_BY_CODE_SUPPORTS_RESEND = True
ACCOUNT_LOGOUT_ON_GET = False
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_RATE_LIMITS = {
    "login": "300/m/ip",
    "login_failed": "10/m/key,100/5m/ip",
    "request_login_code": "100/m/ip,3/m/key",
    "reset_password": "100/m/ip,5/m/key",
}
ALLAUTH_TRUSTED_PROXY_COUNT = env.number("TRUSTED_PROXIES", 0)
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
SECOND_FACTOR_REQUIRED = PROD
INVITATION_DAYS = 14

# API
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["devplans.core.parsing.Json"],
    "DEFAULT_PAGINATION_CLASS": "devplans.core.rest.Pages",
    "PAGE_SIZE": 50,
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "devplans.core.rest.exception_handler",
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Player development portal",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
}

# Language, time
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# Files
STATIC_URL = "/static/"
STATIC_ROOT = Path(env.text("STATIC_ROOT", str(DATA_DIR / "static")))
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "portal.storage.HtmxFinder",
    "portal.storage.FontFinder",
]
STORAGE_URL = env.text("STORAGE_URL", "")
# A server that speaks S3 and is not Amazon's: where the portal reaches it, and where browsers do.
S3_ENDPOINT_URL = env.text("S3_ENDPOINT_URL", "")
S3_PUBLIC_URL = env.text("S3_PUBLIC_URL", "")
MEDIA_ROOT = DATA_DIR / "media"
STORAGES = {
    "default": {
        "BACKEND": "portal.bucket.Bucket",
        "OPTIONS": env.bucket(STORAGE_URL, S3_ENDPOINT_URL, S3_PUBLIC_URL),
    }
    if STORAGE_URL
    else {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": MEDIA_ROOT},
    },
    "staticfiles": {"BACKEND": "portal.storage.HashedStatic"},
}
ACCEL_REDIRECT = env.flag("ACCEL_REDIRECT")
FILM_MAX_BYTES = env.number("FILM_MAX_MB", 8192) * 1024 * 1024
# Films by their https address: on or off; private servers ("nas.club.example nas:5001") that may be
# fetched from all the same; a file with certificates of theirs.
FILM_BY_ADDRESS = env.flag("FILM_BY_ADDRESS", True)
FILM_ADDRESS_HOSTS = env.text("FILM_ADDRESS_HOSTS", "").lower().replace(",", " ").split()
FILM_ADDRESS_CA = env.text("FILM_ADDRESS_CA", "")
# With films in a bucket: copies of them that this machine keeps on its disk.
FILM_CACHE_BYTES = env.number("FILM_CACHE_MB", 20 * 1024) * 1024 * 1024
# All films of one club, as they were sent.
FILM_QUOTA_BYTES = env.number("FILM_QUOTA_MB", 512 * 1024) * 1024 * 1024
# What a coach says over a film: the sound of one talk at most, and how long it is kept at most; it
# is deleted earlier where the talk was corrected to the end.
TALK_MAX_BYTES = env.number("TALK_MAX_MB", 300) * 1024 * 1024
TALK_SOUND_DAYS = env.number("TALK_SOUND_DAYS", 30)
# A folder with another speech model than the one that comes with the portal.
SPEECH_MODEL = env.text("SPEECH_MODEL", "")
UPLOAD_DAYS = 7
UPLOADS_OPEN_MOST = 30
# Of one process: the other threads stay free for pages.
UPLOADS_AT_ONCE = 2
FILE_UPLOAD_TEMP_DIR = str(DATA_DIR / "incoming")
FILE_UPLOAD_HANDLERS = ["devplans.film.intake.BoundedUpload"]
FILE_UPLOAD_PERMISSIONS = 0o600

# Mail: every mail lies in the outbox first; this says where the outbox is emptied to.
EMAIL_URL = env.text("EMAIL_URL", "")
if EMAIL_URL:
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    globals().update(env.mail(EMAIL_URL))
else:
    EMAIL_BACKEND = "portal.mailfiles.EmailBackend"
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env.text("MAIL_FROM", f"portal@{urlsplit(PUBLIC_URL).hostname or 'localhost'}")
MAIL_DIR = DATA_DIR / "mail"
# How long a sender may hold a mail before another takes it over; longer than EMAIL_TIMEOUT.
OUTBOX_LEASE_S = env.number("OUTBOX_LEASE_S", 90)

# Work in the background: rows with leases are the truth, the queue is a doorbell.
CELERY_BROKER_URL = REDIS_URL
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_DEFAULT_QUEUE = "mail"
# A film takes up to an hour, so films queue apart from clips and mail.
CELERY_TASK_ROUTES = {
    "film.prepare": {"queue": "media"},
    # Waiting for a slow server takes long too, but no power.
    "film.fetch": {"queue": "fetch"},
    "feedback.cut_clip": {"queue": "clips"},
    "feedback.cut_list_clip": {"queue": "clips"},
    # A process of its own hears; the worker waits for it as for a slow server.
    "talkthrough.write_down": {"queue": "speech"},
    "talkthrough.hear_so_far": {"queue": "speech"},
    "talkthrough.understand": {"queue": "clips"},
}
WORKER_QUEUES = ("mail", "clips", "media", "fetch", "speech")
CELERY_TASK_ACKS_LATE = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
# A page never waits for a broker that is away: the sweepers find what was not queued.
CELERY_TASK_PUBLISH_RETRY_POLICY = {"max_retries": 1, "interval_start": 0, "interval_step": 0}
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "socket_connect_timeout": 2,
    "visibility_timeout": 3600,
    "unacked_restore_interval": 2,
    "unacked_restore_throttle": 1,
}
MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
# Each tick finds all there is to do, so one that waited until the next is worth nothing.
CELERY_BEAT_SCHEDULE = {
    name: {"task": name, "schedule": every, "options": {"expires": every.total_seconds()}}
    for name, every in {
        "digests.plan_due": 10 * MINUTE,
        "core.sweep_outbox": MINUTE,
        "film.sweep": MINUTE,
        "film.sweep_uploads": 30 * MINUTE,
        "talkthrough.write_waiting": MINUTE,
        "talkthrough.understand_waiting": 5 * MINUTE,
        "talkthrough.sweep_sound": 10 * MINUTE,
        "feedback.cut_waiting": MINUTE,
        "feedback.sweep_files": DAY,
        "talkthrough.sweep_files": DAY,
        "goals.write_reviews": 60 * MINUTE,
        "workouts.rebuild_weeks": DAY,
        "tallies.rebuild_weeks": DAY,
    }.items()
}

# Security
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if env.flag("BEHIND_PROXY") else None
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_SAMESITE = "Lax"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:", "blob:"],
        "media-src": ["'self'", "blob:"],
        "connect-src": ["'self'"],
        "font-src": ["'self'"],
        "frame-src": ["'self'"],
        "manifest-src": ["'self'"],
        "worker-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "object-src": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}

if STORAGE_URL:
    for kind in ("img-src", "media-src", "connect-src"):
        CONTENT_SECURITY_POLICY["DIRECTIVES"][kind] += env.bucket_hosts(
            STORAGE_URL, S3_PUBLIC_URL or S3_ENDPOINT_URL
        )

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "INFO" if not PROD else "WARNING"},
}
