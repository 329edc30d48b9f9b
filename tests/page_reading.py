"""Reads a page back as a browser would: its tags as they nest, and its text."""

from html.parser import HTMLParser

VOID = frozenset({"meta", "img", "br", "wbr", "rect", "path", "circle", "hr"})


class Page(HTMLParser):
    """A page that was read: `tags` in order with their attributes, `said` all of its text by the tag it stands in."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.said: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.torn: list[str] = []
        self.feed(text)
        self.close()
        self.torn += self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1] == tag:
            self.open.pop()
        else:
            self.torn.append(tag)

    def handle_data(self, data: str) -> None:
        if data.strip() and self.open:
            self.said.append((self.open[-1], data))

    @property
    def text(self) -> str:
        """All text but the style's, in one line."""
        return " ".join(" ".join(d for tag, d in self.said if tag != "style").split())

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """The attributes of every tag of this name."""
        return [attrs for name, attrs in self.tags if name == tag]
