"""What a weekly mail says, read back as figures from the text that arrived."""

import re
from dataclasses import dataclass

from tests.e2e.gym import Sums


@dataclass(frozen=True)
class Told:
    """One child's part of a weekly mail."""

    words: str

    @property
    def workouts(self) -> int:
        found = re.search(r"logged (\d+) workouts?\.", self.words)
        return int(found.group(1)) if found else 0

    @property
    def minutes(self) -> tuple[int, int]:
        """With the team, alone."""
        found = re.search(r"^Practised: (.+) with the team and (.+) alone\.", self.words, re.M)
        return in_minutes(found.group(1)), in_minutes(found.group(2))

    def counted(self, label: str) -> tuple[int, int, int, int]:
        """Made, tried, and the interval in percent, of the line with this label."""
        pattern = (
            rf"^{re.escape(label)}: (\d+) of (\d+) went in; "
            r"the long-run rate may lie between (\d+) and (\d+) %$"
        )
        return tuple(int(number) for number in re.search(pattern, self.words, re.M).groups())

    def agrees_with(self, sums: Sums) -> None:
        assert self.workouts == sums.workouts
        assert self.minutes == (sums.minutes_organised, sums.minutes_own)
        made, tried, low, high = self.counted("Shots")
        assert (made, tried) == (sums.made, sums.tried)
        exact = sums.interval()
        assert abs(low - 100 * exact[0]) <= 0.5 + 1e-9
        assert abs(high - 100 * exact[1]) <= 0.5 + 1e-9


def in_minutes(words: str) -> int:
    """ "3 h 10 min", "55 min", "2 h"."""
    hours = re.search(r"(\d+) h", words)
    minutes = re.search(r"(\d+) min", words)
    return 60 * int(hours.group(1) if hours else 0) + int(minutes.group(1) if minutes else 0)


def parts(text: str) -> dict[str, Told]:
    """The parts of a mail by whose week they tell: a first name, or "Your"."""
    pieces = re.split(r"^(?:(Your)|(\S+)’s) week$", text, flags=re.M)
    found = {}
    for at in range(1, len(pieces), 3):
        found[pieces[at] or pieces[at + 1]] = Told(pieces[at + 2])
    return found
