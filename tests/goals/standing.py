"""Goals and evidence for the tests of statuses, without a database."""

from datetime import date, timedelta

from devplans.goals.status.parts import Evidence, Facts, Session

# A Wednesday; the goals of the tests began eight weeks before it and are due eight weeks after.
TODAY = date(2026, 12, 9)
BEGAN = TODAY - timedelta(weeks=8)


def facts(**fields):
    usual = {
        "measure": "drill_share", "life": "live", "name": "Ines", "started_on": BEGAN,
        "due_on": TODAY + timedelta(weeks=8), "target": 0.7,
    }  # fmt: skip
    return Facts(**{**usual, **fields})


def evidence(*sessions, icc=0.0, **fields):
    """sessions: (days ago, made, tried), in any order."""
    rows = [Session(TODAY - timedelta(days=ago), made, tried) for ago, made, tried in sessions]
    return Evidence(tuple(sorted(rows, key=lambda one: one.on)), icc=icc, **fields)
