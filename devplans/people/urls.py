from django.urls import path

from devplans.people.views import clubs, imports, joining, own, players, squads

app_name = "people"
urlpatterns = [
    path("squads/", squads.squads, name="squads"),
    path("squads/seasons/add/", squads.season_add, name="season-add"),
    path("squads/add/", squads.squad_add, name="squad-add"),
    path("squads/<uuid:squad_id>/", squads.squad, name="squad"),
    path("squads/<uuid:squad_id>/players/add/", squads.player_add, name="player-add"),
    path("squads/<uuid:squad_id>/players/place/", squads.player_place, name="player-place"),
    path(
        "squads/<uuid:squad_id>/players/<uuid:player_id>/number/",
        squads.number_change,
        name="number-change",
    ),
    path(
        "squads/<uuid:squad_id>/players/<uuid:player_id>/leave/",
        squads.player_leave,
        name="player-leave",
    ),
    path("squads/<uuid:squad_id>/coaches/invite/", squads.invite_coach, name="invite-coach"),
    path("squads/<uuid:squad_id>/roster/", imports.roster_import, name="roster-import"),
    path("squads/<uuid:squad_id>/roster/confirm/", imports.roster_confirm, name="roster-confirm"),
    path("roster.csv", imports.roster_template, name="roster-template"),
    path("players/", players.players, name="players"),
    path("players/<uuid:player_id>/", players.player, name="player"),
    path("players/<uuid:player_id>/edit/", players.player_edit, name="player-edit"),
    path("players/<uuid:player_id>/invite/", players.invite_player, name="invite-player"),
    path(
        "players/<uuid:player_id>/guardians/invite/",
        players.invite_guardian,
        name="invite-guardian",
    ),
    path("players/<uuid:player_id>/consent/", players.consent_give, name="consent-give"),
    path("players/<uuid:player_id>/consent/paper/", players.consent_record, name="consent-record"),
    path(
        "players/<uuid:player_id>/consent/withdraw/",
        players.consent_withdraw,
        name="consent-withdraw",
    ),
    path("guardians/<uuid:guardianship_id>/end/", players.guardian_end, name="guardian-end"),
    path("club/", clubs.club, name="club"),
    path("staff/", clubs.staff, name="staff"),
    path("staff/invite/", clubs.invite_staff, name="invite-staff"),
    path("staff/<uuid:membership_id>/end/", clubs.membership_end, name="membership-end"),
    path(
        "invitations/<uuid:invitation_id>/resend/",
        joining.invitation_resend,
        name="invitation-resend",
    ),
    path(
        "invitations/<uuid:invitation_id>/revoke/",
        joining.invitation_revoke,
        name="invitation-revoke",
    ),
    path("join/<str:token>/", joining.join, name="join"),
    path("set-up/<str:token>/", joining.set_up, name="set-up"),
    path("welcome/", joining.welcome, name="welcome"),
    path("me/", own.me, name="me"),
    path("me/mails/", own.mail_choices, name="mail-choices"),
]
