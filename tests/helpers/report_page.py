"""The report's HTML parsed without a browser: elements with their attributes, text and ancestors."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "hr", "img", "input", "rect", "path", "circle", "line"}


@dataclass
class Element:
    """An element; `children` holds elements and texts."""

    tag: str
    attributes: dict[str, str]
    children: "list[Element | str]" = field(default_factory=list)

    @property
    def text(self) -> str:
        """All text inside, white space drawn together."""
        parts = (child.text if isinstance(child, Element) else child for child in self.children)
        return " ".join("".join(parts).split())

    def walk(self) -> "Iterator[Element]":
        """Yield the element and all inside it."""
        yield self
        for child in self.children:
            if isinstance(child, Element):
                yield from child.walk()

    def all(self, tag: str) -> "list[Element]":
        """Return every element of a tag inside."""
        return [element for element in self.walk() if element.tag == tag]


class Page(HTMLParser):
    """Builds the tree and refuses tags that do not close in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.root = Element("document", {})
        self._open = [self.root]
        self.feed(html)
        self.close()
        if len(self._open) != 1:
            raise ValueError(f"<{self._open[-1].tag}> is never closed")

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        names = [name for name, _ in attrs]
        if len(set(names)) < len(names):
            raise ValueError(f"<{tag}> has an attribute twice: {names}")
        element = Element(tag, {name: value or "" for name, value in attrs})
        self._open[-1].children.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Add an element without content."""
        self._open[-1].children.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """Close the element that is open."""
        if tag in VOID:
            return
        if self._open[-1].tag != tag:
            raise ValueError(f"</{tag}> closes <{self._open[-1].tag}> at {self.getpos()}")
        self._open.pop()

    def handle_data(self, data: str) -> None:
        """Add text."""
        self._open[-1].children.append(data)
