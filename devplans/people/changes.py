"""What the apps above are told of, inside the transaction that changes it."""

from django.dispatch import Signal

# club: the Club as it is now. Whatever a receiver raises undoes the change.
zone_changed = Signal()

# player: the Player who has no place in any squad of the club from now on.
player_left = Signal()
