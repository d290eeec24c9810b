"""How far a fleet run is, and when it will be done: lines on the error output, few enough to be read."""

import time
from datetime import datetime, timedelta

from tripplan.commands.terminal import say
from tripplan.sheets.words import duration

LEAST_S = 5.0


class Progress:
    """Counts rigs done in this run; what was done before does not shorten the estimate."""

    def __init__(self, count: int, before: int) -> None:
        self.count, self.before, self.done, self.stopped = count, before, 0, 0
        self.began = self.said = time.monotonic()
        if before:
            say(f"{before} of {count} rigs are done already; going on with the others.", error=True)

    def one(self, is_made: bool) -> None:
        """One more rig is done."""
        self.done += 1
        self.stopped += not is_made
        now = time.monotonic()
        left = self.count - self.before - self.done
        if left and now - self.said >= LEAST_S:
            self.said = now
            say(f"{self._so_far()}; {self._end(now, left)}", error=True)

    def finished(self) -> None:
        """The last line: how many, how long, how many a second."""
        spent_s = max(time.monotonic() - self.began, 1e-9)
        rate = f", {self.done / spent_s:.2f} a second" if self.done else ""
        say(f"{self._so_far()} in {spent_s:.0f} s{rate}.", error=True)

    def _so_far(self) -> str:
        without = f", {self.stopped} of them without a plan" if self.stopped else ""
        return f"{self.before + self.done} of {self.count} rigs{without}"

    def _end(self, now: float, left: int) -> str:
        left_s = (now - self.began) / self.done * left
        at = datetime.now() + timedelta(seconds=left_s)
        left_words = f"about {duration(left_s / 60)}" if left_s >= 60 else "less than a minute"
        return f"{left_words} left, until {at:%H:%M}"
