"""What text and answers have in common: values for JSON with a reason for each gap, and text made harmless."""

import math

Values = dict[str, object]
"""One JSON object of an answer. The keys are a contract with other programs: they are added to, never renamed."""


def with_why(values: Values, why: list[str]) -> Values:
    """Say beside values that are None why they can't be given; a figure that is not finite can't be given either."""
    for key, value in values.items():
        if isinstance(value, float) and not math.isfinite(value):
            values[key] = None
            why.append("it is too large to be given")
    if None in values.values():
        values["why"] = "; ".join(why)
    return values


def plain(text: str) -> str:
    """Make text from elsewhere harmless in a terminal: one line, nothing that moves the cursor."""
    return "".join(c if c.isprintable() else "\ufffd" for c in " ".join(text.split()))
