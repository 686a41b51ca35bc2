"""docker-compose.yml read as Compose reads it: the settings must understand what it sets."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

pytestmark = pytest.mark.once

ROOT = Path(__file__).resolve().parents[2]
DOT_ENV = {
    "SECRET_KEY": "k" * 64,
    "POSTGRES_PASSWORD": "p@ss:word",
    "PUBLIC_URL": "https://portal.club.example",
}
ASK = """
import json
from django.conf import settings as s
db = s.DATABASES["default"]
print(json.dumps({
    "engine": db["ENGINE"].rsplit(".", 1)[1], "db_host": db["HOST"], "db_name": db["NAME"],
    "broker": s.CELERY_BROKER_URL, "cache": s.CACHES["default"]["LOCATION"],
    "mail": [s.EMAIL_HOST, s.EMAIL_PORT], "secure": s.SESSION_COOKIE_SECURE, "demo": s.DEMO,
    "hosts": s.ALLOWED_HOSTS, "proxy": s.SECURE_PROXY_SSL_HEADER, "accel": s.ACCEL_REDIRECT,
    "factor": s.SECOND_FACTOR_REQUIRED, "queues": s.WORKER_QUEUES,
}))
"""


def filled(text):
    """`${NAME:-default}` and `${NAME:?reason}` as Compose fills them."""

    def fill(match):
        name, default = match.group(1), match.group(3) if match.group(2) == ":-" else None
        value = DOT_ENV.get(name, default)
        assert value is not None, f"{name} is required"
        return value

    return re.sub(r"\$\{(\w+)(?:(:-|:\?)([^}]*))?\}", fill, str(text))


@pytest.fixture(scope="module")
def services():
    return yaml.safe_load((ROOT / "docker-compose.yml").read_text())["services"]


def environment(service):
    return {name: filled(text) for name, text in service["environment"].items()}


def test_every_part_is_there(services):
    assert set(services) == {
        "migrate", "web", "worker", "media-worker", "fetch-worker", "beat", "db", "redis",
        "nginx", "mail",
    }  # fmt: skip


def test_the_settings_understand_it(services, tmp_path):
    given = environment(services["web"]) | {
        "PATH": os.environ["PATH"],
        "DJANGO_SETTINGS_MODULE": "portal.settings",
        "DATA_DIR": str(tmp_path),
    }
    answer = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, env=given, capture_output=True, text=True, check=True
    )
    understood = json.loads(answer.stdout)
    queues = understood.pop("queues")
    assert understood == {
        "engine": "postgresql", "db_host": "db", "db_name": "portal",
        "broker": "redis://redis:6379/0", "cache": "redis://redis:6379/0",
        "mail": ["mail", 1025], "secure": True, "demo": False,
        "hosts": ["portal.club.example", "127.0.0.1", "localhost"],
        "proxy": ["HTTP_X_FORWARDED_PROTO", "https"], "accel": True, "factor": True,
    }  # fmt: skip
    workers = ("worker", "media-worker", "fetch-worker")
    commands = " ".join(services[name]["command"] for name in workers)
    listened = {
        name for names in re.findall(r"--queues (\S+)", commands) for name in names.split(",")
    }
    assert listened == set(queues)


def test_nothing_starts_without_a_secret(tmp_path):
    given = {"PATH": os.environ["PATH"], "PORTAL_MODE": "prod", "DATA_DIR": str(tmp_path)}
    answer = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT, env=given, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert answer.returncode != 0
    assert "in the environment" in answer.stderr


def test_commands_are_ones_that_exist(services):
    """Each option of a command of ours is one that the program knows."""
    for name in ("web", "worker", "media-worker", "fetch-worker", "beat"):
        words = services[name]["command"].split()
        words = words[words.index("python") + 1 :]
        program = words[: 4 if "celery" in words else 2]
        program += [word for word in words[4:5] if word in {"worker", "beat"}]
        shown = subprocess.run(
            [sys.executable, *program, "--help"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        options = {word.split("=")[0] for word in words if re.match(r"--\w", word)}
        assert {option for option in options if option not in shown} == set()
