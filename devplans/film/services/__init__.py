"""Keeping films, and marking them: possessions and what the game clock showed."""

from devplans.film.services.clock import delete_clock_mark, put_clock_mark, set_periods
from devplans.film.services.fetching import (
    fetch_again,
    fetch_film,
    run_fetch,
    stop_fetch,
    sweep_fetches,
)
from devplans.film.services.films import (
    add_film,
    change_film,
    delete_film,
    open_film,
    prepare_film,
    prepare_next_film,
    sweep,
    without_consent,
)
from devplans.film.services.parts import join_film, split_film
from devplans.film.services.possessions import delete_possession, put_possession

__all__ = [
    "add_film",
    "change_film",
    "delete_clock_mark",
    "delete_film",
    "delete_possession",
    "fetch_again",
    "fetch_film",
    "join_film",
    "open_film",
    "prepare_film",
    "prepare_next_film",
    "put_clock_mark",
    "put_possession",
    "run_fetch",
    "set_periods",
    "split_film",
    "stop_fetch",
    "sweep",
    "sweep_fetches",
    "without_consent",
]
