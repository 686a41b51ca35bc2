from devplans.progress import club, exports
from tests.access import row

PLAYER = {"player_id": "kid"}
READERS = {
    "*": 404,
    "anon": 302,
    "player": 200,
    "guardian": 200,
    "coach": 200,
    "director": 200,
    "welfare": 200,
}
RUNS_CLUB = {"*": 404, "anon": 302, "director": 200}
SQUAD = {"squad_id": "squad"}
STAFF = {"*": 404, "anon": 302, "coach": 200, "director": 200}
COACHES = {"coach": 302, "other_coach": 302, "director": 302, "outsider": 302}

ROWS = [
    row("get", "progress:player", PLAYER, READERS),
    *(row("get", f"progress:player-{table}", PLAYER, READERS) for table in exports.TABLES),
    row("get", "progress:club", {}, RUNS_CLUB),
    *(row("get", f"progress:club-{table}", {}, RUNS_CLUB) for table in club.NAMES),
    row("get", "progress:board", SQUAD, STAFF),
    row("get", "progress:board-csv", SQUAD, STAFF),
    row("get", "progress:next", SQUAD, STAFF),
    row("get", "progress:next-csv", SQUAD, STAFF),
    row("get", "progress:next-practice", {}, {"*": 404, "anon": 302, **COACHES}),
]
