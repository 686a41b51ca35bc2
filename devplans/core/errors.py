"""What a rule says when it refuses; pages answer 422 with it, the API 400."""


class DomainError(Exception):
    """A rule of the product refuses this. `code` is stable, `message` is for people, `field` names
    the form field it belongs to (None: the whole form)."""

    def __init__(self, code: str, message: str, field: str | None = None) -> None:
        super().__init__(str(message))
        self.code = code
        self.field = field


class Conflict(DomainError):
    """The row is there already and says something else; the API answers 409."""
