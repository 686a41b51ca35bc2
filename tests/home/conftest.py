from tests.feedback.conftest import room

__all__ = ["room"]
