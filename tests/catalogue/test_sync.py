import csv
import shutil
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from devplans.catalogue.models import Drill, Skill
from devplans.catalogue.sync import CatalogueError, sync_catalogue

SHIPPED = Path(__file__).parents[2] / "fixtures" / "catalogue"

pytestmark = pytest.mark.django_db


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(SHIPPED, tmp_path / "catalogue")
    return tmp_path / "catalogue"


def rows_of(name):
    with (SHIPPED / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def write(folder, name, rows):
    with (folder / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def stored():
    return [list(model.objects.order_by("pk").values()) for model in (Skill, Drill)]


def test_every_shipped_row_arrives_as_it_is_written():
    outcome = sync_catalogue(SHIPPED)
    skills, drills = rows_of("skills.csv"), rows_of("drills.csv")
    assert outcome.added == len(skills) + len(drills)
    assert {row.slug: "; ".join(row.cues) for row in Skill.objects.all()} == {
        row["slug"]: row["cues"] for row in skills
    }
    for row in drills:
        drill = Drill.objects.get(slug=row["slug"])
        assert drill.skill.slug == row["skill"]
        for name in ("name", "counts", "sides", "needs", "how"):
            assert getattr(drill, name) == row[name]
        for name in ("default_sets", "default_per_set", "minutes", "players_needed"):
            assert getattr(drill, name) == int(row[name])


def test_each_shipped_skill_has_a_drill_and_at_most_five_cues():
    sync_catalogue(SHIPPED)
    assert not Skill.objects.filter(drills=None).exists()
    assert all(1 <= len(skill.cues) <= 5 for skill in Skill.objects.all())


def test_a_second_run_writes_nothing(django_assert_num_queries):
    sync_catalogue(SHIPPED)
    before = stored()
    # Two savepoint statements, skills, their keys, drills.
    with django_assert_num_queries(5):
        outcome = sync_catalogue(SHIPPED)
    assert (outcome.added, outcome.changed, outcome.retired) == (0, 0, 0)
    assert stored() == before


def test_a_changed_row_is_changed_and_no_other(folder):
    sync_catalogue(folder)
    before = {row["slug"]: row for row in Skill.objects.values()}
    rows = rows_of("skills.csv")
    rows[3]["cues"] = "One cue; another"
    write(folder, "skills.csv", rows)
    outcome = sync_catalogue(folder)
    assert (outcome.added, outcome.changed, outcome.retired) == (0, 1, 0)
    after = {row["slug"]: row for row in Skill.objects.values()}
    assert {slug for slug in after if after[slug] != before[slug]} == {rows[3]["slug"]}
    assert after[rows[3]["slug"]]["cues"] == ["One cue", "another"]
    assert after[rows[3]["slug"]]["id"] == before[rows[3]["slug"]]["id"]


def test_what_disappears_is_retired_and_comes_back_as_the_same_row(folder):
    sync_catalogue(folder)
    drills = rows_of("drills.csv")
    gone = Drill.objects.get(slug=drills[0]["slug"])
    write(folder, "drills.csv", drills[1:])
    assert sync_catalogue(folder).retired == 1
    assert sync_catalogue(folder).retired == 0
    gone.refresh_from_db()
    assert gone.retired_at
    assert gone not in Drill.objects.in_use()
    write(folder, "drills.csv", drills)
    outcome = sync_catalogue(folder)
    assert (outcome.added, outcome.changed) == (0, 1)
    gone.refresh_from_db()
    assert gone.retired_at is None


def test_a_clubs_own_rows_are_left_alone(cast):
    own = Skill.objects.create(
        club=cast.club, slug="own-skill", family="ours", name="Ours", cues=[]
    )
    same = Skill.objects.create(
        club=cast.club, slug="free-throws", family="ours", name="Ours too", cues=[]
    )
    before = list(Skill.objects.filter(club=cast.club).values())
    sync_catalogue(SHIPPED)
    assert list(Skill.objects.filter(club=cast.club).values()) == before
    assert Skill.objects.filter(slug="free-throws").count() == 2
    assert {own.retired_at, same.retired_at} == {None}


BAD_SKILLS = [
    ({"slug": "Free Throws"}, "'Free Throws' is not a slug"),
    ({"slug": "-x"}, "is not a slug"),
    ({"name": ""}, "name is empty"),
    ({"name": "x" * 81}, "name is longer than 80 characters"),
    ({"cues": " ; ;"}, "cues is empty"),
]
BAD_DRILLS = [
    ({"skill": "no-such"}, "there is no skill 'no-such'"),
    ({"counts": "points"}, "counts must be one of makes, reps, seconds, got 'points'"),
    ({"sides": "left"}, "sides must be one of both, weak, none"),
    ({"minutes": "0"}, "minutes must be a whole number from 1 to 600, got '0'"),
    ({"minutes": "ten"}, "minutes must be a whole number"),
    ({"default_sets": "-3"}, "default_sets must be a whole number"),
    ({"players_needed": "1.5"}, "players_needed must be a whole number"),
]


@pytest.mark.parametrize(
    ("name", "change", "why"),
    [("skills.csv", *row) for row in BAD_SKILLS] + [("drills.csv", *row) for row in BAD_DRILLS],
)
def test_a_bad_row_is_named_by_its_line_and_nothing_is_written(folder, name, change, why):
    sync_catalogue(folder)
    before = stored()
    rows = rows_of(name)
    rows[0]["name"] = "Changed as well"
    rows[5].update(change)
    write(folder, name, rows)
    with pytest.raises(CatalogueError) as caught:
        sync_catalogue(folder)
    assert [problem for problem in caught.value.problems if why in problem]
    assert any(problem.startswith(f"{name} line 7: ") for problem in caught.value.problems)
    assert stored() == before


def test_the_same_slug_twice_is_refused(folder):
    rows = rows_of("skills.csv")
    rows[8]["slug"] = rows[2]["slug"]
    write(folder, "skills.csv", rows)
    with pytest.raises(CatalogueError, match=r"skills.csv line 10: the slug .* is already taken"):
        sync_catalogue(folder)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "first line must be slug,family"),
        (b"slug,family,name,opportunity,cues\n", "holds no rows"),
        (b"name,slug\na,b\n", "first line must be slug,family"),
        (b"slug,family,name,opportunity,cues\na,b,c\n", "line 2: it must have 5 values"),
        (b"slug,family,name,opportunity,cues\na,b,c,d,e,f\n", "line 2: it must have 5 values"),
        (b"slug,family,name,opportunity,cues\na,b,\xff,d,e\n", "cannot be read as CSV in UTF-8"),
        (b'slug,family,name,opportunity,cues\na,b,"c,d,e\n', "cannot be read as CSV in UTF-8"),
    ],
)
def test_a_file_that_is_no_catalogue_changes_nothing(folder, content, why):
    sync_catalogue(folder)
    before = stored()
    (folder / "skills.csv").write_bytes(content)
    with pytest.raises(CatalogueError, match=why):
        sync_catalogue(folder)
    assert stored() == before


def test_the_command_says_what_it_did(folder):
    out = StringIO()
    call_command("sync_catalogue", folder=folder, stdout=out)
    total = len(rows_of("skills.csv")) + len(rows_of("drills.csv"))
    assert out.getvalue() == f"{total} added, 0 changed, 0 retired, 0 unchanged\n"
    out = StringIO()
    call_command("sync_catalogue", stdout=out)
    assert out.getvalue() == f"0 added, 0 changed, 0 retired, {total} unchanged\n"


def test_the_command_fails_clearly(folder):
    (folder / "drills.csv").unlink()
    with pytest.raises(CommandError, match=r"Nothing was changed.\n.*drills.csv is missing"):
        call_command("sync_catalogue", folder=folder)
