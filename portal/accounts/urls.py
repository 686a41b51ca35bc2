"""The sign-in pages that we use; there is no page to sign up or to change the address."""

from allauth.account import views
from allauth.mfa.base import views as mfa
from allauth.mfa.recovery_codes import views as recovery
from allauth.mfa.totp import views as totp
from django.contrib.auth.decorators import login_not_required as anyone
from django.urls import path, re_path

urlpatterns = [
    path("login/", views.login, name="account_login"),
    path("logout/", anyone(views.logout), name="account_logout"),
    path("inactive/", anyone(views.account_inactive), name="account_inactive"),
    path("login/code/", anyone(views.request_login_code), name="account_request_login_code"),
    path(
        "login/code/confirm/",
        anyone(views.confirm_login_code),
        name="account_confirm_login_code",
    ),
    path("reauthenticate/", views.reauthenticate, name="account_reauthenticate"),
    path("password/change/", views.password_change, name="account_change_password"),
    path("password/set/", views.password_set, name="account_set_password"),
    path("password/reset/", anyone(views.password_reset), name="account_reset_password"),
    path(
        "password/reset/done/",
        anyone(views.password_reset_done),
        name="account_reset_password_done",
    ),
    re_path(
        r"^password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        anyone(views.password_reset_from_key),
        name="account_reset_password_from_key",
    ),
    path(
        "password/reset/key/done/",
        anyone(views.password_reset_from_key_done),
        name="account_reset_password_from_key_done",
    ),
    path("2fa/", mfa.index, name="mfa_index"),
    path("2fa/authenticate/", anyone(mfa.authenticate), name="mfa_authenticate"),
    path("2fa/reauthenticate/", mfa.reauthenticate, name="mfa_reauthenticate"),
    path("2fa/totp/activate/", totp.activate_totp, name="mfa_activate_totp"),
    path("2fa/totp/deactivate/", totp.deactivate_totp, name="mfa_deactivate_totp"),
    path(
        "2fa/recovery-codes/",
        recovery.view_recovery_codes,
        name="mfa_view_recovery_codes",
    ),
    path(
        "2fa/recovery-codes/generate/",
        recovery.generate_recovery_codes,
        name="mfa_generate_recovery_codes",
    ),
]
