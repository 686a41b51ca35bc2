"""What can be done to people; everything that writes a row of this app."""

from devplans.people.services.accounts import (
    NewAccount,
    change_name,
    make_account,
    resume_mails,
    stop_mails,
)
from devplans.people.services.clubs import (
    add_season,
    add_squad,
    change_club,
    end_membership,
    invite_founder,
    set_up_club,
)
from devplans.people.services.consents import (
    give_consent,
    record_paper_consent,
    withdraw_consent,
)
from devplans.people.services.importing import import_roster, plan_import
from devplans.people.services.invitations import (
    accept_invitation,
    invite,
    join_with_new_account,
    resend_invitation,
    revoke_invitation,
)
from devplans.people.services.phones import (
    Joined,
    end_phone,
    end_phones,
    join_phone,
    show_code,
)
from devplans.people.services.rosters import (
    add_player,
    change_number,
    change_player,
    end_guardianship,
    leave_squad,
    place_player,
)

__all__ = [
    "Joined",
    "NewAccount",
    "accept_invitation",
    "add_player",
    "add_season",
    "add_squad",
    "change_club",
    "change_name",
    "change_number",
    "change_player",
    "end_guardianship",
    "end_membership",
    "end_phone",
    "end_phones",
    "give_consent",
    "import_roster",
    "invite",
    "invite_founder",
    "join_phone",
    "join_with_new_account",
    "leave_squad",
    "make_account",
    "place_player",
    "plan_import",
    "record_paper_consent",
    "resend_invitation",
    "resume_mails",
    "revoke_invitation",
    "set_up_club",
    "show_code",
    "stop_mails",
    "withdraw_consent",
]
