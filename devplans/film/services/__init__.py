"""Keeping films, and marking them: possessions and what the game clock showed."""

from devplans.film.services.films import (
    add_film,
    change_film,
    delete_film,
    open_film,
    prepare_film,
    sweep,
    without_consent,
)

__all__ = [
    "add_film",
    "change_film",
    "delete_film",
    "open_film",
    "prepare_film",
    "sweep",
    "without_consent",
]
