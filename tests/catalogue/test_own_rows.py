import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from devplans.catalogue import services
from devplans.catalogue.models import Drill, Skill
from devplans.core.errors import DomainError
from devplans.core.models import AuditEntry

PLAN = services.DrillPlan(counts="makes", minutes=6)
SKILL = {
    "family": "ball skills",
    "name": "Wet-ball handling",
    "opportunity": "each dribble with the wet ball",
    "cues": "Fingers wide\n\nEyes up",
}
DRILL = {
    "name": "Wet pounds", "counts": "reps", "sides": "both", "default_sets": 3,
    "default_per_set": 12, "minutes": 7, "players_needed": 1, "needs": "ball", "how": "Low.",
}  # fmt: skip


@pytest.fixture
def shipped(db):
    skill = Skill.objects.create(
        slug="free-throws", family="shooting", name="Free throws", opportunity="every free throw",
        cues=["Same routine each time", "Breathe out"],
    )  # fmt: skip
    Drill.objects.create(slug="in-tens", skill=skill, name="Free throws in tens", counts="makes")
    return skill


def add_skill(cast, name="Ours", *, actor=None, club=None):
    return services.add_skill(
        actor=actor or cast.coach, club=club or cast.club, family="ours", name=name,
        opportunity="each time", cues=["One"],
    )  # fmt: skip


def test_coach_and_director_add_and_nobody_else(cast):
    for name in ("coach", "other_coach", "director"):
        assert add_skill(cast, name, actor=getattr(cast, name)).club == cast.club
    for name in ("player", "guardian", "welfare", "outsider", "stranger", "ex_guardian"):
        with pytest.raises(PermissionDenied):
            add_skill(cast, name, actor=getattr(cast, name))


def test_own_rows_are_seen_by_the_club_only(cast, shipped):
    own = add_skill(cast)
    for name in ("coach", "player", "guardian", "director", "welfare"):
        seen = Skill.objects.visible_to(getattr(cast, name))
        assert {own, shipped} <= set(seen), name
    for name in ("outsider", "stranger", "ex_guardian"):
        assert set(Skill.objects.visible_to(getattr(cast, name))) == {shipped}, name


def test_slugs_never_meet_a_shipped_one(cast, shipped):
    first = add_skill(cast, "Free-throws!")
    assert first.slug == "free-throws-2"
    assert add_skill(cast, "Free throws?").slug == "free-throws-3"
    assert add_skill(cast, "球").slug == "skill"


def test_the_same_name_twice_is_refused(cast, shipped):
    with pytest.raises(DomainError) as caught:
        add_skill(cast, "FREE THROWS")
    assert (caught.value.code, caught.value.field) == ("skill.name", "name")
    own = add_skill(cast)
    services.retire_skill(actor=cast.coach, skill=own)
    assert add_skill(cast).pk != own.pk
    with pytest.raises(DomainError):
        services.restore_skill(actor=cast.coach, skill=own)


def test_shipped_rows_are_nobodys_to_edit(cast, shipped):
    drill = shipped.drills.get()
    with pytest.raises(PermissionDenied):
        services.retire_skill(actor=cast.director, skill=shipped)
    with pytest.raises(PermissionDenied):
        services.change_drill(
            actor=cast.director, drill=drill, skill=shipped, name="Other", plan=PLAN
        )
    shipped.refresh_from_db()
    assert shipped.retired_at is None


def test_changing_keeps_the_slug_and_is_audited(cast):
    own = add_skill(cast)
    services.change_skill(
        actor=cast.director, skill=own, family="shooting", name="Renamed",
        opportunity="each shot", cues=["A", "B"],
    )  # fmt: skip
    own.refresh_from_db()
    assert (own.slug, own.name, own.cues) == ("ours", "Renamed", ["A", "B"])
    verbs = list(AuditEntry.objects.order_by("at").values_list("verb", "club_id"))
    assert verbs == [
        ("catalogue.skill_added", cast.club.pk), ("catalogue.skill_changed", cast.club.pk),
    ]  # fmt: skip


def test_a_retired_skill_takes_the_clubs_drills_along_and_stays_readable(cast):
    own = add_skill(cast)
    drill = services.add_drill(actor=cast.coach, club=cast.club, skill=own, name="D", plan=PLAN)
    services.retire_skill(actor=cast.coach, skill=own)
    drill.refresh_from_db()
    assert drill.retired_at
    assert own in Skill.objects.visible_to(cast.player)
    assert own not in Skill.objects.visible_to(cast.player).in_use()
    with pytest.raises(DomainError) as caught:
        services.restore_drill(actor=cast.coach, drill=drill)
    assert caught.value.code == "drill.skill"
    services.restore_skill(actor=cast.coach, skill=own)
    services.restore_drill(actor=cast.coach, drill=drill)
    drill.refresh_from_db()
    assert drill.retired_at is None


def test_a_drill_needs_a_skill_that_the_club_uses(cast):
    far = Skill.objects.create(club=cast.far_club, slug="far", family="f", name="Far", cues=[])
    with pytest.raises(DomainError) as caught:
        services.add_drill(actor=cast.coach, club=cast.club, skill=far, name="D", plan=PLAN)
    assert caught.value.field == "skill"


def test_the_pages_add_change_retire_and_bring_back(cast, shipped, client):
    client.force_login(cast.coach)
    reply = client.post(reverse("catalogue:skill-add", args=[cast.club.pk]), SKILL)
    skill = Skill.objects.get(club=cast.club)
    assert reply.url == reverse("catalogue:list") + "#wet-ball-handling"
    assert skill.cues == ["Fingers wide", "Eyes up"]
    page = client.get(reverse("catalogue:drill-add", args=[cast.club.pk]) + f"?skill={skill.slug}")
    assert page.context["form"]["skill"].value() == skill.pk
    body = {**DRILL, "skill": skill.pk}
    client.post(reverse("catalogue:drill-add", args=[cast.club.pk]), body)
    drill = Drill.objects.get(club=cast.club)
    assert (drill.skill, drill.default_per_set, drill.how) == (skill, 12, "Low.")
    client.post(reverse("catalogue:drill-edit", args=[drill.pk]), {**body, "minutes": 9})
    client.post(
        reverse("catalogue:skill-edit", args=[skill.pk]), {**SKILL, "name": "Handling it wet"}
    )
    text = client.get(reverse("catalogue:list")).content.decode()
    assert "Handling it wet" in text
    assert "9 min" in text
    client.post(reverse("catalogue:skill-retire", args=[skill.pk]))
    page = client.get(reverse("catalogue:list"))
    assert list(page.context["retired_skills"]) == [skill]
    client.post(reverse("catalogue:skill-restore", args=[skill.pk]))
    client.post(reverse("catalogue:drill-restore", args=[drill.pk]))
    drill.refresh_from_db()
    assert (drill.minutes, drill.retired_at) == (9, None)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Free throws"}, "name"),
        ({"cues": "a\nb\nc\nd\ne\nf"}, "cues"),
        ({"cues": "x" * 91}, "cues"),
        ({"opportunity": ""}, "opportunity"),
    ],
)
def test_a_wrong_form_is_shown_again_with_the_reason(cast, shipped, client, change, field):
    client.force_login(cast.coach)
    reply = client.post(reverse("catalogue:skill-add", args=[cast.club.pk]), {**SKILL, **change})
    assert reply.status_code == 422
    assert list(reply.context["form"].errors) == [field]
    assert not Skill.objects.filter(club=cast.club).exists()


def test_another_clubs_skill_cannot_be_picked_by_its_key(cast, client):
    far = Skill.objects.create(club=cast.far_club, slug="far", family="f", name="Far", cues=[])
    client.force_login(cast.coach)
    url = reverse("catalogue:drill-add", args=[cast.club.pk])
    reply = client.post(url, {**DRILL, "skill": far.pk})
    assert reply.status_code == 422
    assert not Drill.objects.exists()


def test_the_list_can_be_searched_and_never_shows_another_clubs_rows(cast, shipped, client):
    Drill.objects.create(
        club=cast.far_club, slug="far", skill=shipped, name="Secret routine", counts="reps"
    )
    client.force_login(cast.player)
    url = reverse("catalogue:list")
    assert "Free throws in tens" in client.get(url).content.decode()
    assert "Free throws" in client.get(url + "?q=in+tens").content.decode()
    assert client.get(url + "?q=secret").context["families"] == []
    assert "Secret routine" not in client.get(url).content.decode()
    client.force_login(cast.outsider)
    assert "Secret routine" in client.get(url).content.decode()


def test_the_list_takes_a_fixed_number_of_queries(cast, client, django_assert_max_num_queries):
    from tests.catalogue.test_sync import SHIPPED, sync_catalogue

    sync_catalogue(SHIPPED)
    client.force_login(cast.coach)
    client.get(reverse("catalogue:list"))
    with django_assert_max_num_queries(20):
        client.get(reverse("catalogue:list"))


def test_the_api_lists_in_pages(cast, shipped, client):
    own = add_skill(cast)
    client.force_login(cast.player)
    page = client.get("/api/v1/skills/?page_size=1").json()
    assert set(page) == {"next", "previous", "results"}
    rows = page["results"] + client.get(page["next"]).json()["results"]
    assert [row["slug"] for row in rows] == ["free-throws", own.slug]
    assert rows[0]["cues"] == ["Same routine each time", "Breathe out"]
    assert [row["club"] for row in rows] == [None, str(cast.club.pk)]
    drills = client.get("/api/v1/drills/").json()["results"]
    assert [(row["slug"], row["skill"]) for row in drills] == [("in-tens", "free-throws")]
    client.force_login(cast.outsider)
    assert len(client.get("/api/v1/skills/").json()["results"]) == 1
    assert client.post("/api/v1/skills/", {"name": "x"}).status_code == 405
    client.logout()
    assert client.get("/api/v1/skills/").status_code == 403
