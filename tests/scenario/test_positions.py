"""The index of positions: the same paths as tomllib finds, at the lines on which they stand."""

import datetime as dt
import json
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from towerpace.scenario.complaints import Path
from towerpace.scenario.positions import line_index, syntax_fault_place

TRICKY = '''\
# a comment with [brackets] and = signs
title = "a # that is no comment" # one that is
"quoted key" = 1
'literal "key"' = 2
"with \\"escapes\\" and \\u00e9" = 3
a.b . "c d" = [1, [2, 3], { x = 4, y.z = [5] }]
long = """
[not.a.table]
key = "no key"
two quotes at the end""""" # after
literal = \'\'\'
[[no]] \\
\'\'\'\'
spread = [ # comment ] with bracket
    { low = 1, high = 2 }, # first
    # between

    { low = 3, high = 4 }, ]
date = 1979-05-27 07:32:00
empty = []
empty_table = {}

[implicit.deep.table]
x = 1
[implicit]
y = 2
[[fruit]]
name = "apple"
[fruit.physical]
colour = "red"
[[fruit.variety]]
name = "one"
[[fruit.variety]]
name = "two"
[[fruit]]
name = "plum"
[[ fruit . variety ]]
name = "three"
[ "a.b".'c' ]
d = -inf
'''


def paths_of(tree: Any, path: Path = ()) -> set[Path]:
    """Every path of a parsed tree."""
    entries = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    found = set() if path == () else {path}
    for key, entry in entries:
        found |= paths_of(entry, (*path, key))
    return found


def test_a_tricky_file_has_the_paths_that_tomllib_finds():
    assert set(line_index(TRICKY)) == paths_of(tomllib.loads(TRICKY))


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("quoted key",), '"quoted key" = 1'),
        (("a", "b", "c d", 2, "y", "z", 0), "a.b . "),
        (("literal",), "literal = "),
        (("spread", 0, "high"), "    { low = 1"),
        (("spread", 1), "    { low = 3"),
        (("spread", 1, "high"), "    { low = 3"),
        (("date",), "date = "),
        (("implicit",), "[implicit]"),
        (("implicit", "deep"), "[implicit.deep.table]"),
        (("fruit",), "[[fruit]]"),
        (("fruit", 0, "variety", 1), '[[fruit.variety]]\nname = "two"'),
        (("fruit", 1, "variety", 0, "name"), 'name = "three"'),
        (("a.b", "c"), '[ "a.b"'),
    ],
)
def test_a_path_stands_on_the_line_where_a_reader_sees_it(path: Path, text: str):
    assert line_index(TRICKY)[path] == TRICKY[: TRICKY.index(text)].count("\n") + 1


def test_windows_line_ends_do_not_move_lines():
    assert line_index(TRICKY.replace("\n", "\r\n")) == line_index(TRICKY)


SCALARS = st.one_of(
    st.integers(-(2**40), 2**40),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(min_value=dt.date(1000, 1, 1)),
    st.text(max_size=8),
)
KEYS = st.text(alphabet=st.sampled_from("ab1_- .#\"'[]{}=é\\"), max_size=4)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=6,
)
TABLES = st.dictionaries(
    KEYS, VALUES | st.lists(st.dictionaries(KEYS, VALUES, max_size=2), min_size=1, max_size=3)
)
LAYOUTS = st.randoms(use_true_random=False)


def toml_text(tree: dict[str, Any], layout: Any) -> str:
    """A tree written as TOML, with comments, line breaks and forms chosen by the layout."""
    plain, headed = [], []
    for key, value in tree.items():
        tables = isinstance(value, list) and value and all(isinstance(entry, dict) for entry in value)
        if tables and layout.random() < 0.5:
            headed += [f"[[{quoted(key)}]] # {{\n{pairs(entry, layout)}" for entry in value]
        elif isinstance(value, dict) and layout.random() < 0.5:
            headed.append(f"[ {quoted(key)} ]\n{pairs(value, layout)}")
        else:
            plain.append(pairs({key: value}, layout))
    return "".join(plain + headed)


def pairs(table: dict[str, Any], layout: Any) -> str:
    gaps = ["", "\n", "# [x]\n", "  "]
    return "".join(
        f"{layout.choice(gaps)}{quoted(key)} = {inline(value, layout)}\n" for key, value in table.items()
    )


def inline(value: Any, layout: Any) -> str:
    if isinstance(value, list):
        gap = layout.choice(["", " ", "\n", " # ]\n"])
        return f"[{gap}" + f"{gap},{gap}".join(inline(entry, layout) for entry in value) + f"{gap}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(key)}={inline(entry, layout)}" for key, entry in value.items()) + "}"
    if isinstance(value, str):
        long = layout.random() < 0.3
        return f'""{quoted(value)}""' if long and not value.startswith("\n") else quoted(value)
    if isinstance(value, bool):
        return str(value).lower()
    return value.isoformat() if isinstance(value, dt.date) else repr(value)


def quoted(text: str) -> str:
    # JSON leaves DEL as it is and writes pairs for characters beyond the basic plane; TOML has neither.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


@settings(max_examples=200, deadline=None)
@given(tree=TABLES, layout=LAYOUTS)
def test_any_file_has_the_paths_that_tomllib_finds(tree: dict[str, Any], layout: Any):
    text = toml_text(tree, layout)

    parsed = tomllib.loads(text)
    assert parsed == tree
    assert set(line_index(text)) == paths_of(parsed)


@settings(max_examples=100, deadline=None)
@given(names=st.lists(st.sampled_from(["a", "b", "c"]), min_size=1, max_size=12), layout=LAYOUTS)
def test_each_of_many_keys_stands_on_its_own_line(names: list[str], layout: Any):
    """Array elements with gaps of random length between them; the true lines are noted while writing."""
    text, lines = "", {}
    for number, name in enumerate(names):
        text += "# gap\n" * layout.randrange(3) + "[[list]]\n" + "\n" * layout.randrange(3)
        lines["list", number, name] = text.count("\n") + 1
        text += f'{name} = """x\n\ny"""\n'

    found = line_index(text)
    assert {path: found[path] for path in lines} == lines


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a = 1\nb 2\n", 2, "Expected '=' after a key in a key/value pair"),
        ("a = 1\na = 2\n", 2, "Cannot overwrite a value"),
        ("a = 1\nb = [1,\n", 2, "Invalid value"),
    ],
)
def test_a_syntax_error_is_given_its_line(text: str, line: int, words: str):
    with pytest.raises(tomllib.TOMLDecodeError) as caught:
        tomllib.loads(text)

    assert syntax_fault_place(caught.value, text) == (line, words)
