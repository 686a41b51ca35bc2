"""Where a goal stands: one word, why, and what would settle it.

    from devplans.goals.status import statuses
    standing = statuses([goal], timezone.now())[goal.pk]
    standing.label, standing.sentence, standing.settles, standing.as_facts()

`shares`, `reps` and `alike` hold the rules and know no database; `words` says them; `reading` and
`logged` collect what was counted.
"""

from devplans.goals.status.parts import WORDS, ReviewFacts, Standing, Word
from devplans.goals.status.reading import statuses

__all__ = ["WORDS", "ReviewFacts", "Standing", "Word", "statuses"]
