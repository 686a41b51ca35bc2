from tests.access import row

ROWS = [
    # The same for everybody, and needed before anyone is signed in.
    row("get", "pwa:worker", {}, {"*": 200}),
    row("get", "pwa:manifest", {}, {"*": 200}),
    row("get", "pwa:icon", {"size": lambda _cast: 192}, {"*": 200}),
    row("get", "pwa:offline", {}, {"*": 200}),
    # One's own; empty for who is no player.
    row("get", "pwa:keep", {}, {"*": 200, "anon": 302}),
]
