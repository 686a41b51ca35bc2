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

ROWS = [
    row("get", "progress:player", PLAYER, READERS),
    row("get", "progress:player-csv", PLAYER, READERS),
    row("get", "progress:club", {}, {"*": 404, "anon": 302, "director": 200}),
]
