"""A page of a report read back: headings, tables with their exact values, ids, references, balanced tags."""

from __future__ import annotations

from html.parser import HTMLParser

EMPTY = {"meta", "link", "br", "img", "input", "hr", "wbr"}
HEADINGS = {f"h{k}" for k in range(1, 7)}
POINTERS = ("aria-labelledby", "aria-describedby")


class PageReader(HTMLParser):
    """tables : by caption, rows of cells, each the exact value where there is one, else the text."""

    def __init__(self, text):
        super().__init__()
        self.open, self.headings, self.ids, self.pointers, self.links = [], [], [], [], []
        self.tags, self.tables, self.scopes, self.attributes, self.text = [], {}, [], [], []
        self._caption, self._row, self._cell, self._value = None, None, None, None
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.tags.append(tag)
        self.attributes += [(tag, *pair) for pair in attrs]
        if "id" in attributes:
            self.ids.append(attributes["id"])
        self.pointers += [name for key in POINTERS for name in (attributes.get(key) or "").split()]
        if (attributes.get("href") or "").startswith("#"):
            self.links.append(attributes["href"][1:])
        if tag in HEADINGS:
            self.headings.append(int(tag[1]))
        if tag == "table":
            self._caption = None
        elif tag == "caption":
            self._cell = ""
        elif tag == "tr":
            self._row = []
        elif tag in ("td", "th"):
            self._cell, self._value = "", None
            if tag == "th":
                self.scopes.append(attributes.get("scope"))
        elif tag in ("time", "data"):
            self._value = attributes.get("datetime") or attributes.get("value")
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes something else"
        if tag == "caption":
            self._caption = self._cell.strip()
            self.tables[self._caption] = []
        elif tag in ("td", "th"):
            self._row.append(self._value if self._value is not None else self._cell.strip())
        elif tag == "tr":
            self.tables[self._caption].append(self._row)
        if tag in ("td", "th", "caption"):
            self._cell = None

    def handle_data(self, data):
        self.text.append(data)
        if self._cell is not None:
            self._cell += data

    def rows(self, caption):
        """Rows of a table below its headings, those of one cell left out: they head a group."""
        return [row for row in self.tables[caption][1:] if len(row) > 1]

    @property
    def said(self):
        """All text with single spaces."""
        return " ".join("".join(self.text).replace("\u00a0", " ").split())
