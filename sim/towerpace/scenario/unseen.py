"""Signs that nobody sees and that terminals, tables and XML take for orders: refused where words are read.

These are the controls of ISO/IEC 6429 (C0, C1 and delete), the separators of lines and paragraphs of Unicode
and the marks that turn what stands behind them around (UAX 9, section 2; all from memory), and what is no
sign of XML (XML 1.0, production 2: Char). A remark may have tabs and new lines, a name has neither.
"""

import re
from collections.abc import Iterator

from towerpace.scenario.complaints import UNSEEN, Complaint, Path
from towerpace.scenario.raw import Tree

_IN_NAMES = re.compile(f"{UNSEEN.pattern}|[\t\n\r]")
ALLOWED = "words of signs that are seen"
REMARKS = ("source", "note")


def unseen_in(word: str, *, remark: bool = False) -> str | None:
    r"""The first sign of a word that nobody sees, by its number; None if all are seen.

    >>> unseen_in("red\x1b[31m"), unseen_in("two\nlines", remark=True)
    ('the sign U+001B, which nobody sees', None)
    """
    if word.isprintable():
        return None
    found = (UNSEEN if remark else _IN_NAMES).search(word)
    return found and f"the sign U+{ord(found[0]):04X}, which nobody sees"


def unseen_rules(tree: Tree) -> Iterator[Complaint]:
    """Names and texts of a file in which something is not seen; remarks may have lines."""
    here: list[tuple[Path, object]] = [((), tree)]
    while here:
        path, value = here.pop()
        if isinstance(value, dict):
            here += [((*path, key), entry) for key, entry in value.items()]
        elif isinstance(value, list):
            here += [((*path, k), entry) for k, entry in enumerate(value)]
        name = path[-1] if path else ""
        for word, remark in ((name, False), (value, name in REMARKS)):
            if isinstance(word, str) and (found := unseen_in(word, remark=remark)):
                yield Complaint(path, found, ALLOWED)
