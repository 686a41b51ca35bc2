"""Published limits on a young player's hours, by age and school grade.

They are about hours with the team ("organised": games, practice, training that a coach leads).
A player's own shooting is a total of its own and is never added to them.
Source: DiFiori et al. 2018, Sports Med. 48:2053-2065, doi 10.1007/s40279-018-0950-0, Table 4, and
the guidelines of the NBA and USA Basketball of 2016.
"""

from dataclasses import dataclass

SOURCE = "DiFiori et al. 2018, Sports Medicine 48:2053-2065, Table 4"
SPORT_SOURCE = "Jayanthi et al. 2015, American Journal of Sports Medicine 43:794-801"


@dataclass(frozen=True)
class Limits:
    """organised: hours a week. games_a_day. rest_days: at least so many a week. months: at most so
    many a year. sleep: (low, high) hours a night."""

    band: str
    organised: int
    games_a_day: int
    rest_days: int
    months: int
    sleep: tuple[int, int]


SEVEN = Limits("7-8", organised=3, games_a_day=1, rest_days=2, months=4, sleep=(9, 12))
NINE = Limits("9-11", organised=5, games_a_day=2, rest_days=2, months=5, sleep=(9, 12))
TWELVE = Limits("12-14", organised=10, games_a_day=2, rest_days=1, months=7, sleep=(8, 10))
# A child of twelve still sleeps as the younger do (Paruthi et al. 2016, doi 10.5664/jcsm.5866).
TWELVE_ITSELF = Limits("12-14", organised=10, games_a_day=2, rest_days=1, months=7, sleep=(9, 12))
HIGH_SCHOOL = Limits(
    "grades 9-12", organised=14, games_a_day=2, rest_days=1, months=10, sleep=(8, 10)
)


def limits(age: int | None, grade: int | None) -> Limits | None:
    """The limits for a player of `age` in whole years and school `grade` (1 to 12, None unknown).

    The published bands mix the two: at fourteen the grade decides. From fifteen on, an unknown
    grade counts as high school; below fourteen the age decides, whatever the grade. None where
    nothing is published: below seven, from nineteen on, age and grade unknown.
    """
    in_high_school = grade is not None and 9 <= grade <= 12
    if age is None:
        return HIGH_SCHOOL if in_high_school else None
    if age < 7 or age > 18:
        return None
    if age > 14 or (age == 14 and in_high_school):
        return HIGH_SCHOOL
    if age > 12:
        return TWELVE
    return TWELVE_ITSELF if age == 12 else NINE if age > 8 else SEVEN


def over_limit(organised: float, found: Limits | None) -> bool:
    """Whether the hours with the team in a week lie past the limit; at the limit is within."""
    return found is not None and organised > found.organised


def over_age(sport: float, age: int | None) -> bool:
    """Whether a child does more hours of sport a week than it has years.

    Source: Jayanthi et al. 2015, Am. J. Sports Med. 43:794-801: an association among young
    athletes, no diagnosis of one of them.
    """
    return age is not None and 7 <= age <= 18 and sport > age


def mostly_organised(organised: float, free: float) -> bool | None:
    """Whether organised sport takes more than twice the hours of free play; None without free
    play, of which too little is known to say so. Source: Jayanthi et al. 2015."""
    return organised > 2 * free if free else None
