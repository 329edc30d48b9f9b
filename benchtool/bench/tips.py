"""Tool tips that show text as it is: the toolkit would take a name such as `<b>Zinc</b>` for markup."""

import html


def plain_tip(text: str) -> str:
    """Give what a tool tip is set to so that it shows just this text."""
    if "<" not in text and "&" not in text:
        return text
    return f"<qt>{html.escape(text, quote=False)}</qt>".replace("\n", "<br>")
