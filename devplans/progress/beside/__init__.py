"""Film beside gym: two weekly series of one skill, and the few words that may be said of them."""

from devplans.progress.beside.reading import Beside, of_player

__all__ = ["Beside", "of_player"]
