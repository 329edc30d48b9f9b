"""Where the rules do not yet say what the case book expects, and why the book is right.

Each of these cases is known to fail; one that begins to pass fails its test, and is then taken out of here.
"""

MISSING: frozenset[str] = frozenset()
"""Rules that are wanted and not there."""

ROWS: dict[str, str] = {}
"""The rows, by name."""

SYSTEMS: dict[str, tuple[str, str]] = {}
"""The sound systems, by name: the reason, and the first stage that shows it."""

CARRIED: dict[str, str] = {}
"""The mistakes that are told in too many lines when the work goes on, by name."""
