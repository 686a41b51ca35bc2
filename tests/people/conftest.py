from tests.workouts.conftest import shared_database  # noqa: F401
