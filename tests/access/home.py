from tests.access import row

ROWS = [
    row("get", "home:home", {}, {"*": 302, "stranger": 200, "ex_guardian": 200}),
    row(
        "get",
        "home:waiting",
        {},
        {"*": 404, "anon": 302, "coach": 200, "other_coach": 200, "outsider": 200},
    ),
    row("get", "home:today", {}, {"*": 404, "anon": 302, "player": 200, "teammate": 200}),
    row("get", "home:family", {}, {"*": 404, "anon": 302, "guardian": 200}),
    row("get", "home:club", {}, {"*": 404, "anon": 302, "director": 302}),
]
