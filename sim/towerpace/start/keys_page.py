"""The page of all keys, written from the walk of the schema."""

from collections.abc import Iterable, Iterator, Sequence

from towerpace.scenario.levels import COLUMN_MEANINGS
from towerpace.scenario.number_forms import FORMS, NUMBER_KEYS
from towerpace.scenario.vocabulary import REMARKS, Key, vocabulary

_COLUMN_NAMES = ("key", "meaning", "unit", "allowed", "default", "needed", "example")
_HEAD = """\
# Every key of a scenario

Written by the program itself (`towerpace keys --page`), from what it checks a scenario with. `towerpace keys`
lists the tables, `towerpace keys limit` tells the keys of a table, `towerpace keys hoist.share` one key.

A scenario is a TOML file: `[table]` opens a table, `key = value` says something in it, `#` begins a remark.
`NAME` is a name of yours, `[]` any entry of a list. *Needed* says when a key must be given: *always* means
wherever its table is. Every table but `[calendar.NAME.week]` may have `source`, where its numbers come from,
and `note`, a remark; they are not repeated below.
"""
_NUMBERS = """
## How a number is written

A plain number is certain: `set_min = 36`. Where a number or a spread is allowed, it may be uncertain:
`set_min = { low = 18, likely = 36, high = 75, shape = "pert" }`. Any number may say its source:
`{ value = 36, source = "measured" }`.
"""
_LEVELS = """
## The level table

A CSV file, commas between cells and points in numbers, with one row for each zone of each level. Beside the
columns below it has columns of yours, in lower case, that count units: panels, brackets, metres of joint.
"""


def page() -> str:
    """The page, in Markdown."""
    return "\n".join([_HEAD + _NUMBERS, *_forms(), _LEVELS, *_columns(), *_tables(vocabulary())]) + "\n"


def _forms() -> Iterator[str]:
    yield "| form | keys | for |"
    yield "|---|---|---|"
    for form, (meaning, keys) in FORMS.items():
        yield f"| {form} | {', '.join(f'`{key}`' for key in keys)} | {meaning} |"
    yield ""
    yield from _rows(("key", "meaning", "example"), _number_rows())


def _number_rows() -> Iterator[Sequence[str]]:
    for key, (meaning, example) in NUMBER_KEYS.items():
        yield f"`{key}`", meaning, f"`{key} = {example}`"


def _columns() -> Iterator[str]:
    yield from _rows(("column", "meaning"), ((f"`{name}`", text) for name, text in COLUMN_MEANINGS.items()))


def _tables(keys: Sequence[Key]) -> Iterator[str]:
    """Each table at the top of the file with its keys and those of the tables in it."""
    for top in (key for key in keys if key.name.removesuffix("[]").count(".") == key.name.count(".NAME")):
        if top.name.count(".") > 1:
            continue
        yield f"\n## `{top.example}`\n"
        yield " ".join([top.meaning, f"*Needed {top.needed}.*" if top.needed else ""]).strip() + "\n"
        own = [key for key in keys if key.name.startswith(f"{top.name}.")]
        shown = [key for key in own if key.last not in REMARKS or key.needed]
        if shown:
            yield from _rows(_COLUMN_NAMES, _own(shown, top))


def _own(keys: Iterable[Key], top: Key) -> Iterator[Sequence[str]]:
    for key in keys:
        name = key.name.removeprefix(f"{top.name}.")
        yield f"`{name}`", key.meaning, key.unit, key.allowed, key.default, key.needed, f"`{key.line}`"


def _rows(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    yield f"| {' | '.join(head)} |"
    yield "|" + "---|" * len(head)
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', '&#124;') for cell in row)} |"
