"""How many wrong codes one address may send; counted in the cache, kept for minutes only."""

import hashlib
from ipaddress import IPv6Address, ip_address, ip_network

from allauth.account.adapter import get_adapter
from django.core.cache import cache
from django.http import HttpRequest

# Behind one address may be a whole gym.
MOST = 30
WINDOW_S = 300


def may_try(request: HttpRequest) -> bool:
    """May another code be tried from where `request` comes from?"""
    return cache.get(_key(request), 0) < MOST


def count_wrong(request: HttpRequest) -> None:
    """Remember a wrong code. The count begins anew when `WINDOW_S` have passed since the first."""
    key = _key(request)
    cache.add(key, 0, WINDOW_S)
    try:
        cache.incr(key)
    except ValueError:  # it ran out between the two
        cache.add(key, 1, WINDOW_S)


def _key(request: HttpRequest) -> str:
    where = str(get_adapter(request).get_client_ip(request))
    try:
        address = ip_address(where)
    except ValueError:
        address = None
    # One household has a whole network of the new addresses.
    if isinstance(address, IPv6Address):
        where = str(ip_network(f"{where}/64", strict=False))
    return f"people.guesses:{hashlib.sha256(where.encode()).hexdigest()}"
