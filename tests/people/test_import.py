from datetime import date

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from devplans.core.days import today
from devplans.core.errors import DomainError
from devplans.core.models import Message
from devplans.people import lookups, services
from devplans.people.models import Invitation, Player, SquadPlayer
from devplans.people.rosterfile import read_roster
from tests import factories as make

HEAD = "number,first_name,last_name,born_on,grade,player_email,guardian_name,guardian_email"
TWO = (
    "23,Anouk,Ferreira,2012-05-04,8,,Luis Ferreira,luis@people.example",
    "00,Jolie,Marsh,,,jolie@people.example,,",
)


def file_of(*lines):
    return read_roster("\n".join([HEAD, *lines]).encode())


def plan(cast, *lines, actor=None):
    return services.plan_import(actor=actor or cast.coach, squad=cast.squad, file=file_of(*lines))


def take_in(cast, *lines, actor=None, invitations=False):
    return services.import_roster(
        actor=actor or cast.coach,
        squad=cast.squad,
        file=file_of(*lines),
        send_invitations=invitations,
    )


def everything():
    return [
        list(model.objects.order_by("pk").values())
        for model in (Player, SquadPlayer, Invitation, Message)
    ]


def test_planning_writes_nothing(cast):
    before = everything()
    found = plan(cast, *TWO)
    assert [row.is_new for row in found.rows] == [True, True]
    assert found.invite_count == 2
    assert everything() == before


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("44,New,Person,2031-01-01,,,,", "cannot be right"),
        ("44,New,Person,1890-01-01,,,,", "cannot be right"),
        ("x4,New,Person,,,,,", "one to three figures"),
        ("-1,New,Person,,,,,", "one to three figures"),
        ("12,New,Person,,,,,", "Ines Okafor wears number 12"),
        ("23,New,Person,,,,,", "Number 23 is in line 2"),
        ("44,anouk,FERREIRA,,,,,", "in line 2 already"),
        ("44,Anouk,Ferreira,2012-05-04,,,,", "in line 2 already"),
        ("44,New,Person,,,nobody,,", "not an email address"),
        ("44,New,Person,,,,Someone,no@body", "not an email address"),
        ("44,New,Person,,,both@people.example,Someone,both@people.example", "address each"),
        ("44,Luc,Okafor,,,,,", "in another squad"),
        ("44,Nobody,Known,1999-01-01,,,,", "a director has to enter it"),
    ],
)
def test_a_row_that_cannot_be_used_is_named(cast, line, said):
    make.make_player(squad=cast.squad, first_name="Nobody", last_name="Known", born_on=None)
    before = everything()
    found = plan(cast, TWO[0], line)
    [(number, reason)] = found.problems
    assert number == 3
    assert said in reason
    with pytest.raises(DomainError) as refusal:
        take_in(cast, TWO[0], line, invitations=True)
    assert refusal.value.code == "roster.problems"
    assert everything() == before


def test_taking_in_makes_players_with_their_numbers(cast):
    take_in(cast, *TWO)
    anouk = Player.objects.get(first_name="Anouk")
    jolie = Player.objects.get(first_name="Jolie")
    assert (anouk.born_on, anouk.grade, anouk.club) == (date(2012, 5, 4), "8", cast.club)
    assert (jolie.email, jolie.born_on) == ("jolie@people.example", None)
    assert lookups.number_on(anouk, cast.squad, today()) == "23"
    assert lookups.number_on(jolie, cast.squad, today()) == "00"
    assert not Invitation.objects.exists()


@pytest.mark.parametrize("invitations", [True, False])
def test_the_same_file_again_changes_nothing(cast, invitations):
    take_in(cast, *TWO, invitations=invitations)
    before = everything()
    found = plan(cast, *TWO)
    assert [row.is_same for row in found.rows] == [True, True]
    take_in(cast, *TWO, invitations=invitations)
    assert everything() == before


def test_invitations_can_be_sent_later_with_the_same_file(cast):
    take_in(cast, *TWO)
    take_in(cast, *TWO, invitations=True)
    assert set(Invitation.objects.values_list("kind", "email", "name")) == {
        ("guardian", "luis@people.example", "Luis Ferreira"),
        ("player", "jolie@people.example", "Jolie Marsh"),
    }
    assert Player.objects.filter(first_name="Anouk").count() == 1


def test_who_is_here_already_is_not_invited(cast):
    line = f"12,Ines,Okafor,,,{cast.player.email},Marta,{cast.guardian.email.upper()}"
    assert plan(cast, line).invite_count == 0


def test_an_adult_gets_no_guardian(cast):
    assert plan(cast, "44,Ada,Grown,1999-01-01,,,Someone,g@people.example").invite_count == 0


def test_changes_are_shown_and_carried_out(cast):
    line = f"15,Ines,Okafor,{cast.kid.born_on},9,,,"
    [row] = plan(cast, line).rows
    assert (row.new_number, row.changes) == ("15", {"grade": "9"})
    assert row.what_happens == ["number 15 from today", "grade 9"]
    take_in(cast, line)
    cast.kid.refresh_from_db()
    assert cast.kid.grade == "9"
    assert lookups.number_on(cast.kid, cast.squad, today()) == "15"
    assert lookups.number_on(cast.kid, cast.squad, make.long_ago()) == "12"


def test_an_empty_cell_takes_nothing_away(cast):
    cast.kid.grade = "8"
    cast.kid.save(update_fields=["grade"])
    take_in(cast, ",Ines,Okafor,,,,,")
    cast.kid.refresh_from_db()
    assert (cast.kid.grade, cast.kid.born_on is None) == ("8", False)
    assert lookups.number_on(cast.kid, cast.squad, today()) == "12"


def test_two_players_may_swap_numbers(cast):
    take_in(cast, "7,Ines,Okafor,,,,,", "12,Runa,Lindqvist,,,,,")
    assert lookups.number_on(cast.kid, cast.squad, today()) == "7"
    assert lookups.number_on(cast.mate, cast.squad, today()) == "12"


def test_same_name_and_another_birth_date_is_another_person(cast):
    take_in(cast, "44,Ines,Okafor,2010-10-10,,,,")
    assert Player.objects.filter(last_name="Okafor", first_name="Ines").count() == 2


def test_a_director_takes_a_player_over_from_another_squad(cast):
    take_in(cast, "44,Luc,Okafor,,,,,", actor=cast.director)
    assert set(lookups.squads_of(cast.sibling)) == {cast.squad, cast.other_squad}
    assert Player.objects.filter(first_name="Luc").count() == 1


@pytest.mark.parametrize("actor", ["other_coach", "outsider", "welfare", "guardian", "player"])
def test_nobody_else_imports(cast, actor):
    with pytest.raises(PermissionDenied):
        take_in(cast, *TWO, actor=getattr(cast, actor))


def upload(client, squad, content, name="roster.csv"):
    url = reverse("people:roster-import", args=[squad.pk])
    return client.post(url, {"file": SimpleUploadedFile(name, content)})


def test_the_pages_from_upload_to_roster(cast, client):
    client.force_login(cast.coach)
    content = "\r\n".join([HEAD, *TWO]).encode("utf-8-sig")
    preview = upload(client, cast.squad, content)
    assert preview.status_code == 200
    assert b"Anouk Ferreira" in preview.content
    assert not Player.objects.filter(first_name="Anouk").exists()
    form = {"text": preview.context["form"]["text"].value(), "send_invitations": "on"}
    done = client.post(reverse("people:roster-confirm", args=[cast.squad.pk]), form)
    assert done.status_code == 302
    page = client.get(done.url).content.decode()
    assert "Anouk Ferreira" in page
    assert "Guardian invited, not here yet." in page
    assert Invitation.objects.count() == 2


def test_the_page_names_bad_rows_and_offers_no_writing(cast, client):
    client.force_login(cast.coach)
    page = upload(client, cast.squad, f"{HEAD}\n44,New,,,,,,\n".encode())
    assert page.status_code == 422
    assert "line 2" in page.content.decode()
    assert reverse("people:roster-confirm", args=[cast.squad.pk]) not in page.content.decode()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04...", b"\xff\xfe\x00", b"a,b\n1,2"])
def test_the_page_says_what_is_wrong_with_a_file(cast, client, content):
    client.force_login(cast.coach)
    page = upload(client, cast.squad, content)
    assert page.status_code == 422
    assert 'role="alert"' in page.content.decode()


def test_no_file_at_all(cast, client):
    client.force_login(cast.coach)
    page = client.post(reverse("people:roster-import", args=[cast.squad.pk]), {})
    assert page.status_code == 422
    assert "field is required" in page.content.decode()


def test_what_comes_back_from_the_preview_is_checked_again(cast, client):
    client.force_login(cast.coach)
    url = reverse("people:roster-confirm", args=[cast.squad.pk])
    before = everything()
    for text in (f"{HEAD}\n12,New,Person,,,,,", "rubbish", f"{HEAD}\n44,New,,,,,,"):
        assert client.post(url, {"text": text}).status_code == 422
    assert everything() == before
