"""Counts what the checks of calendars hold, and keeps what did not."""


class Tally:
    """Counts what held, and keeps what did not."""

    def __init__(self):
        self.passed = 0
        self.failures = []

    def check(self, holds, what):
        if holds:
            self.passed += 1
        else:
            self.failures.append(what)

    def same(self, got, wanted, what):
        self.check(got == wanted, f"{what}: {got}, not {wanted}")
