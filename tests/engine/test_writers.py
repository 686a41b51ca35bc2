"""Several processes write to SQLite at once: with our settings nobody is turned away."""

import json
import os
import sqlite3
import subprocess
import sys

import pytest

from portal import env
from tests.served import ROOT

pytestmark = [pytest.mark.once, pytest.mark.long]

WRITERS, ROUNDS = 4, 150
WRITE = """
import json, sys, time
import django
from django.conf import settings
from portal import env
settings.configure(DATABASES={"default": env.sqlite(sys.argv[1])}, USE_TZ=True)
django.setup()
from django.db import OperationalError, connection, transaction
refused, longest = 0, 0.0
for _ in range(int(sys.argv[2])):
    begun = time.monotonic()
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT count(*) FROM strokes")
            cursor.fetchone()
            time.sleep(0.001)
            cursor.execute("INSERT INTO strokes DEFAULT VALUES")
    except OperationalError:
        refused += 1
    longest = max(longest, time.monotonic() - begun)
print(json.dumps([refused, longest]))
"""


def test_nobody_is_turned_away(tmp_path):
    path = tmp_path / "writers.sqlite3"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE strokes (id INTEGER PRIMARY KEY)")
    command = [sys.executable, "-c", WRITE, str(path), str(ROUNDS)]
    writers = [
        subprocess.Popen(command, cwd=ROOT, env={**os.environ}, stdout=subprocess.PIPE, text=True)
        for _ in range(WRITERS)
    ]
    results = [json.loads(writer.communicate()[0]) for writer in writers]
    assert sum(refused for refused, _ in results) == 0
    assert max(longest for _, longest in results) < env.sqlite("")["OPTIONS"]["timeout"]
    with sqlite3.connect(path) as connection:
        assert connection.execute("SELECT count(*) FROM strokes").fetchone() == (WRITERS * ROUNDS,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
