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
SQUAD = {"squad_id": "squad"}
STAFF = {"*": 404, "anon": 302, "coach": 200, "director": 200}
COACHES = {"coach": 302, "other_coach": 302, "director": 302, "outsider": 302}

ROWS = [
    row("get", "progress:player", PLAYER, READERS),
    row("get", "progress:player-csv", PLAYER, READERS),
    row("get", "progress:club", {}, {"*": 404, "anon": 302, "director": 200}),
    row("get", "progress:board", SQUAD, STAFF),
    row("get", "progress:board-csv", SQUAD, STAFF),
    row("get", "progress:next", SQUAD, STAFF),
    row("get", "progress:next-csv", SQUAD, STAFF),
    row("get", "progress:next-practice", {}, {"*": 404, "anon": 302, **COACHES}),
]
