"""A page as a reader and a browser see it: its words, its links, and its forms with what stands in them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta", "link", "input", "img", "br", "hr", "base", "source", "wbr", "col"})


@dataclass(eq=False)
class Element:
    """One element: its name, its attributes, what is written in it, and what it stands in."""

    tag: str
    attributes: dict[str, str]
    parent: Element | None
    texts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The words in it, with single spaces."""
        return " ".join("".join(self.texts).split())

    def inside(self, outer: Element) -> bool:
        """Whether it stands in another element, at any depth."""
        step: Element | None = self
        while step is not None and step is not outer:
            step = step.parent
        return step is outer


class Page(HTMLParser):
    """A parsed page or fragment."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.html = html
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        element = Element(tag, attributes, self._open[-1] if self._open else None)
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        for depth in range(len(self._open) - 1, -1, -1):
            if self._open[depth].tag == tag:
                del self._open[depth:]
                return

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.texts.append(data)

    def all(self, tag: str, **attributes: str) -> list[Element]:
        """Every element of this name with these attributes."""
        wanted = {name.replace("_", "-"): value for name, value in attributes.items()}
        return [
            one
            for one in self.elements
            if one.tag == tag and all(one.attributes.get(name) == value for name, value in wanted.items())
        ]

    def one(self, tag: str, **attributes: str) -> Element:
        """The only element of this name with these attributes."""
        (found,) = self.all(tag, **attributes)
        return found

    @property
    def text(self) -> str:
        """All words of the page, without its title and scripts."""
        body = self.all("body")
        whole = body[0].text if body else " ".join(" ".join(one.text for one in self._roots()).split())
        return re.sub(r"\s+", " ", whole)

    def _roots(self) -> Iterator[Element]:
        return (one for one in self.elements if one.parent is None)

    @property
    def links(self) -> list[str]:
        """Where the page's links lead, inside the app."""
        found = (one.attributes.get("href", "") for one in self.all("a"))
        return [link for link in found if link.startswith("/")]

    def form(self, ending: str) -> Element:
        """The form whose action ends so; `""` for the one that posts to the page itself."""
        forms = self.all("form")
        (found,) = [
            one
            for one in forms
            if (
                one.attributes.get("action", "").endswith(ending)
                if ending
                else "action" not in one.attributes
            )
        ]
        return found

    def fields(self, form: Element) -> dict[str, str]:
        """What a browser would send of this form."""
        sent: dict[str, str] = {}
        for one in self.elements:
            name = one.attributes.get("name", "")
            owner = one.attributes.get("form")
            belongs = owner == form.attributes.get("id") if owner else one.inside(form)
            if name and belongs and (value := self._value(one)) is not None:
                sent[name] = value
        return sent

    def _value(self, element: Element) -> str | None:
        if element.tag == "input":
            if (
                element.attributes.get("type") in {"radio", "checkbox"}
                and "checked" not in element.attributes
            ):
                return None
            return element.attributes.get("value", "")
        if element.tag == "textarea":
            return "".join(element.texts)
        if element.tag == "select":
            options = [one for one in self.all("option") if one.inside(element)]
            chosen = [one for one in options if "selected" in one.attributes] or options[:1]
            return chosen[0].attributes.get("value", chosen[0].text) if chosen else None
        return None
