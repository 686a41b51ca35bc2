"""The access table: every route x role. One file per app; tests/test_access.py runs it.

A file holds `ROWS`, a list of `row(...)`, and may hold `things(cast)`, which puts further rows
that its URLs need
on the cast (`cast.film = ...`). A row:

    row("get", "people:roster", {"squad_id": "squad"}, "302 404 404 404 404 200 404 200 200 404
    404")

- method; route name as `reverse` takes it; URL arguments: name -> attribute of the cast (its `pk`
is used), or a
  callable taking the cast; statuses in the order of `ROLES`, or a dict of role -> status for the
  exceptions with
  the key "*" for all others;
- `body=`: dict, or callable taking the cast and returning one; `json=True` sends it as JSON (API);
- `query=`: text after the question mark, or callable taking the cast.

Each role runs in a transaction of its own that is rolled back. A refused write (302 to sign-in,
403, 404) must
leave every row of every table of ours as it was. A route without a row fails.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

ROLES = [
    "anon",
    "stranger",
    "player",
    "teammate",
    "guardian",
    "coach",
    "other_coach",
    "director",
    "welfare",
    "ex_guardian",
    "outsider",
]


@dataclass(frozen=True)
class Row:
    method: str
    route: str
    arguments: dict[str, str | Callable[[Any], Any]]
    statuses: dict[str, int]
    body: dict[str, Any] | Callable[[Any], dict[str, Any]] = field(default_factory=dict)
    json: bool = False
    query: str | Callable[[Any], str] = ""

    def __str__(self) -> str:
        return f"{self.method} {self.route}"


def row(
    method: str,
    route: str,
    arguments: dict[str, str | Callable[[Any], Any]],
    statuses: str | dict[str, int],
    **more: Any,
) -> Row:
    if isinstance(statuses, str):
        numbers = [int(part) for part in statuses.split()]
        assert len(numbers) == len(ROLES), (
            f"{route}: {len(numbers)} statuses for {len(ROLES)} roles"
        )
        table = dict(zip(ROLES, numbers, strict=True))
    else:
        table = {role: statuses.get(role, statuses.get("*", 0)) for role in ROLES}
        assert all(table.values()), f"{route}: a role without a status"
        assert set(statuses) <= {*ROLES, "*"}, f"{route}: unknown role in {set(statuses)}"
    return Row(method, route, arguments, table, **more)
