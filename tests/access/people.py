"""Clubs, squads, players, invitations, consents."""

from django.utils import timezone

from devplans.people import codes
from devplans.people.links import hash_of
from devplans.people.models import Invitation, Phone, PhoneCode
from tests.access import row

TOKEN = "an-open-link"
FOUNDER = "a-founders-link"
SECRET = codes.new_code()


def things(cast):
    later = timezone.now() + timezone.timedelta(days=3)
    cast.invitation = Invitation.objects.create(
        kind="guardian",
        club=cast.club,
        player=cast.mate,
        email="new.guardian@people.example",
        token_hash=hash_of(TOKEN),
        expires_at=later,
        invited_by=cast.coach,
    )
    Invitation.objects.filter(pk=cast.invitation.pk).update(
        updated_at=timezone.now() - timezone.timedelta(hours=2)
    )
    cast.founder = Invitation.objects.create(
        kind="founder", token_hash=hash_of(FOUNDER), expires_at=later
    )
    cast.phone_code = PhoneCode.objects.create(
        player=cast.kid, shown_by=cast.coach, code_hash=hash_of(SECRET), expires_at=later
    )
    cast.phone = Phone.objects.create(
        player=cast.kid,
        user=cast.player,
        name="Android phone, Chrome",
        shown_by=cast.guardian,
        expires_at=later,
    )
    cast.guardianship = cast.guardian.guardianships.get(player=cast.kid)
    cast.membership = cast.other_coach.memberships.get()


SQUAD = {"squad_id": "squad"}
PLACE = {"squad_id": "squad", "player_id": "kid"}
KID = {"player_id": "kid"}

# anon stranger player teammate guardian coach other_coach director welfare ex_guardian outsider
ANYONE = "302 200 200 200 200 200 200 200 200 200 200"
CLUB_GET = "302 404 403 403 403 403 403 200 403 404 403"
CLUB_POST = "302 404 403 403 403 403 403 302 403 404 403"
STAFF_GET = "302 404 403 403 403 200 404 200 200 404 404"
KEEP_GET = "302 404 403 403 403 200 404 200 403 404 404"
KEEP_POST = "302 404 403 403 403 302 404 302 403 404 404"
RUN_GET = "302 404 403 403 403 403 404 200 403 404 404"
RUN_POST = "302 404 403 403 403 403 404 302 403 404 404"
KID_GET = "302 404 200 404 200 200 404 200 200 404 404"
KID_KEEP_GET = "302 404 403 404 403 200 404 200 403 404 404"
KID_KEEP_POST = "302 404 403 404 403 302 404 302 403 404 404"
MATE_KEEP_POST = "302 404 404 404 404 302 404 302 404 404 404"

SEASON = {"name": "2027/28", "starts_on": "2027-08-01", "ends_on": "2028-06-30"}
NEW_CLUB = {
    "name": "Fenwick Owls",
    "zone": "Europe/London",
    "rule_set": "fiba",
    "digest_day": "0",
    "digest_hour": "16",
    "season_name": "2026/27",
    "starts_on": "2026-08-01",
    "ends_on": "2027-06-30",
    "squad_name": "Under 12",
}
CLUB = {
    "name": "Rivermead Herons",
    "zone": "Europe/Paris",
    "rule_set": "fiba",
    "digest_day": "0",
    "digest_hour": "16",
    "quiet_from_hour": "21",
    "quiet_until_hour": "8",
}
PLAYER = {"first_name": "Ada", "last_name": "Newcome", "hand": "right", "number": "44"}

ROWS = [
    row("get", "people:squads", {}, ANYONE),
    row("get", "people:players", {}, ANYONE),
    row("get", "people:me", {}, ANYONE),
    row("get", "people:welcome", {}, ANYONE),
    row("get", "people:roster-template", {}, ANYONE),
    row("post", "people:me", {}, {"anon": 302, "*": 302}, body={"first_name": "Ada"}),
    row("post", "people:mail-choices", {}, {"anon": 302, "*": 302}, body={"mails": ["digest"]}),
    row("get", "people:club", {}, CLUB_GET),
    row("post", "people:club", {}, CLUB_POST, body=CLUB),
    row(
        "get",
        "people:club",
        {},
        {
            "anon": 302,
            "director": 200,
            "outsider": 404,
            "stranger": 404,
            "ex_guardian": 404,
            "*": 403,
        },
        query=lambda cast: f"club={cast.club.pk}",
    ),
    row("get", "people:staff", {}, CLUB_GET),
    row("get", "people:invite-staff", {}, CLUB_GET),
    row(
        "post",
        "people:invite-staff",
        {},
        CLUB_POST,
        body={"kind": "welfare", "email": "w@people.example"},
    ),
    row("get", "people:season-add", {}, CLUB_GET),
    row("post", "people:season-add", {}, CLUB_POST, body=SEASON),
    row("get", "people:squad-add", {}, CLUB_GET),
    row(
        "post",
        "people:squad-add",
        {},
        CLUB_POST,
        body=lambda cast: {"season": cast.season.pk, "name": "Under 12"},
    ),
    row(
        "post",
        "people:membership-end",
        {"membership_id": "membership"},
        "302 404 404 404 404 404 403 302 403 404 404",
    ),
    row("get", "people:squad", SQUAD, STAFF_GET),
    row("get", "people:player-add", SQUAD, KEEP_GET),
    row("post", "people:player-add", SQUAD, KEEP_POST, body=PLAYER),
    row("get", "people:player-place", SQUAD, RUN_GET),
    row(
        "post",
        "people:player-place",
        SQUAD,
        RUN_POST,
        body=lambda cast: {"player": cast.sibling.pk, "number": "61"},
    ),
    row("get", "people:number-change", PLACE, KEEP_GET),
    row(
        "post",
        "people:number-change",
        PLACE,
        KEEP_POST,
        body=lambda cast: {"number": "52", "since": timezone.now().date().isoformat()},
    ),
    row("get", "people:player-leave", PLACE, KEEP_GET),
    row(
        "post",
        "people:player-leave",
        PLACE,
        KEEP_POST,
        body=lambda cast: {"last_day": timezone.now().date().isoformat()},
    ),
    row("get", "people:invite-coach", SQUAD, KEEP_GET),
    row("post", "people:invite-coach", SQUAD, KEEP_POST, body={"email": "c@people.example"}),
    row("get", "people:roster-import", SQUAD, KEEP_GET),
    row(
        "post",
        "people:roster-import",
        SQUAD,
        {
            "anon": 302,
            "coach": 422,
            "director": 422,
            "player": 403,
            "teammate": 403,
            "guardian": 403,
            "welfare": 403,
            "*": 404,
        },
    ),
    row(
        "post",
        "people:roster-confirm",
        SQUAD,
        KEEP_POST,
        body={"text": "first_name,last_name\nAda,Newcome\n"},
    ),
    row("get", "people:player", KID, KID_GET),
    row("get", "people:player-edit", KID, KID_KEEP_GET),
    row("post", "people:player-edit", KID, KID_KEEP_POST, body=PLAYER),
    row("get", "people:invite-guardian", KID, KID_KEEP_GET),
    row("post", "people:invite-guardian", KID, KID_KEEP_POST, body={"email": "g@people.example"}),
    row("get", "people:invite-player", KID, KID_KEEP_GET),
    row(
        "post",
        "people:invite-player",
        {"player_id": "adult"},
        "302 404 404 404 404 302 404 302 403 404 404",
        body={"email": "p@people.example"},
    ),
    row(
        "post",
        "people:consent-give",
        KID,
        "302 404 403 404 302 403 404 403 403 404 404",
        body={"kind": "film"},
    ),
    row(
        "post",
        "people:consent-record",
        KID,
        "302 404 403 404 403 403 404 302 403 404 404",
        body=lambda cast: {
            "kind": "film",
            "given_by_name": "Marta Okafor",
            "given_on": timezone.now().date(),
        },
    ),
    row(
        "post",
        "people:consent-withdraw",
        KID,
        "302 404 403 404 302 403 404 302 403 404 404",
        body={"kind": "film"},
    ),
    row(
        "post",
        "people:guardian-end",
        {"guardianship_id": "guardianship"},
        "302 404 403 404 403 403 404 302 403 404 404",
    ),
    row("post", "people:invitation-resend", {"invitation_id": "invitation"}, MATE_KEEP_POST),
    row("post", "people:invitation-revoke", {"invitation_id": "invitation"}, MATE_KEEP_POST),
    row("get", "people:join", {"token": lambda cast: TOKEN}, {"*": 200}),
    row(
        "post",
        "people:join",
        {"token": lambda cast: TOKEN},
        {"*": 422},
        body={"relationship": "aunt"},
    ),
    row("get", "people:join", {"token": lambda cast: "no-link-of-ours"}, {"*": 404}),
    row("get", "people:set-up", {"token": lambda cast: FOUNDER}, {"*": 200}),
    row(
        "post",
        "people:set-up",
        {"token": lambda cast: FOUNDER},
        {"anon": 422, "*": 302},
        body=NEW_CLUB,
    ),
    row("get", "people:set-up", {"token": lambda cast: TOKEN}, {"*": 404}),
    row("get", "people:phones", KID, KID_GET),
    row("post", "people:phone-code-show", KID, "302 404 403 404 200 200 404 403 403 404 404"),
    row(
        "post",
        "people:phone-code-show",
        {"player_id": "sibling"},
        "302 404 404 404 200 404 200 403 403 404 404",
    ),
    row("post", "people:phones-end", KID, "302 404 302 404 302 302 404 302 302 404 404"),
    row(
        "post",
        "people:phone-end",
        {"phone_id": "phone"},
        "302 404 302 404 302 302 404 302 302 404 404",
    ),
    row(
        "get",
        "people:phone-code",
        {"code_id": "phone_code"},
        "302 404 404 404 404 200 404 404 404 404 404",
    ),
    row("get", "people:phone-enter", {}, {"*": 200}),
    row("post", "people:phone-enter", {}, {"*": 200}, body={"code": SECRET.lower()}),
    row("post", "people:phone-enter", {}, {"*": 422}, body={"code": "not a code"}),
    row("get", "people:phone-open", {"secret": lambda cast: SECRET}, {"*": 200}),
    row("get", "people:phone-open", {"secret": lambda cast: codes.new_code()}, {"*": 404}),
    row("get", "people:phone-join", {}, {"*": 405}),
    row("post", "people:phone-join", {}, {"*": 404}, body={"code": codes.new_code()}),
    row(
        "post",
        "people:phone-switch",
        {},
        {"*": 404},
        body=lambda cast: {"phone": str(cast.phone.pk)},
    ),
    row("get", "people:phone-leave", {}, {"anon": 302, "*": 404}),
    row("post", "people:phone-leave", {}, {"anon": 302, "*": 404}),
    row("get", "api-me", {}, {"anon": 403, "*": 200}),
]
