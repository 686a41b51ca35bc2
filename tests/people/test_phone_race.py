"""Two phones that read one code at the same moment."""

import threading

from django.db import connection
from django.test import Client
from django.urls import reverse

from devplans.people import services
from devplans.people.models import Phone, User
from tests import cast as people


def test_one_of_two_phones_gets_in(shared_database):
    cast = people.build()
    secrets = [services.show_code(actor=cast.guardian, player=cast.sibling)[1]]
    assert sorted(at_once(secrets * 4)) == [302, 410, 410, 410]
    assert Phone.objects.count() == 1


def test_two_codes_at_once_make_one_account(shared_database):
    cast = people.build()
    secrets = [
        services.show_code(actor=actor, player=cast.sibling)[1]
        for actor in (cast.guardian, cast.other_coach)
    ]
    assert at_once(secrets) == [302, 302]
    assert User.objects.filter(email=None).count() == 1
    assert Phone.objects.standing().count() == 2


def at_once(secrets):
    """The status codes of phones that tap at the same moment."""
    gate = threading.Barrier(len(secrets))
    codes = [0] * len(secrets)

    def tap(place):
        try:
            gate.wait(timeout=20)
            body = {"code": secrets[place]}
            codes[place] = Client().post(reverse("people:phone-join"), body).status_code
        finally:
            connection.close()

    threads = [threading.Thread(target=tap, args=(place,)) for place in range(len(secrets))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return codes
