from typing import Any

from devplans.catalogue.models import Drill, Skill
from tests.access import row


def things(cast: Any) -> None:
    cast.shipped_skill = Skill.objects.create(
        slug="free-throws", family="shooting", name="Free throws", cues=["Breathe out"]
    )
    cast.own_skill = Skill.objects.create(
        club=cast.club, slug="own-skill", family="shooting", name="Own skill", cues=["One"]
    )
    cast.own_drill = Drill.objects.create(
        club=cast.club, slug="own-drill", skill=cast.own_skill, name="Own drill", counts="reps"
    )


SKILL = {"family": "shooting", "name": "New skill", "opportunity": "each time", "cues": "One"}


def drill(cast: Any) -> dict[str, Any]:
    return {
        "name": "New drill", "skill": cast.own_skill.pk, "counts": "reps", "sides": "none",
        "default_sets": 3, "default_per_set": 10, "minutes": 8, "players_needed": 1,
    }  # fmt: skip


#                   anon strg play mate guar coac othr dire welf exgu outs
EVERYBODY = "       302  200  200  200  200  200  200  200  200  200  200"
CLUB_PAGE = "       302  404  403  403  403  200  200  200  403  404  404"
CLUB_WRITE = "      302  404  403  403  403  302  302  302  403  404  404"
SHIPPED = "         302  403  403  403  403  403  403  403  403  403  403"
READ_API = "        403  200  200  200  200  200  200  200  200  200  200"

ROWS = [
    row("get", "catalogue:list", {}, EVERYBODY),
    row("get", "catalogue:skill-add", {"club_id": "club"}, CLUB_PAGE),
    row("post", "catalogue:skill-add", {"club_id": "club"}, CLUB_WRITE, body=SKILL),
    row("get", "catalogue:skill-edit", {"skill_id": "own_skill"}, CLUB_PAGE),
    row("post", "catalogue:skill-edit", {"skill_id": "own_skill"}, CLUB_WRITE, body=SKILL),
    row("post", "catalogue:skill-edit", {"skill_id": "shipped_skill"}, SHIPPED, body=SKILL),
    row("post", "catalogue:skill-retire", {"skill_id": "own_skill"}, CLUB_WRITE),
    row("post", "catalogue:skill-restore", {"skill_id": "own_skill"}, CLUB_WRITE),
    row("get", "catalogue:drill-add", {"club_id": "club"}, CLUB_PAGE),
    row("post", "catalogue:drill-add", {"club_id": "club"}, CLUB_WRITE, body=drill),
    row("get", "catalogue:drill-edit", {"drill_id": "own_drill"}, CLUB_PAGE),
    row("post", "catalogue:drill-edit", {"drill_id": "own_drill"}, CLUB_WRITE, body=drill),
    row("post", "catalogue:drill-retire", {"drill_id": "own_drill"}, CLUB_WRITE),
    row("post", "catalogue:drill-restore", {"drill_id": "own_drill"}, CLUB_WRITE),
    row("get", "api-skills", {}, READ_API),
    row("get", "api-drills", {}, READ_API),
]
