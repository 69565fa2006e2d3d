"""What holds the pages true plays them from their top, writes anew what differs, and refuses what broke."""

import pytest

from support import pages
from support.pages import true_text

PAGE = """# A page
```console
$ towerpace keys hoist.share
something old
```
```console
$ towerpace keys hoist.share
two lines
are shown
...
```
```console
$ towerpace forecast nowhere.toml 2>/dev/null
old
```
```toml
left = "as it is"
```
```python
>>> a = 2
>>> print("x"), [a,
...     3]
old
```
Between.
```python
>>> a + 1
3
>>> for k in range(2):
...     print()

```
"""
TRUE = """# A page
```console
$ towerpace keys hoist.share
hoist.share  [share]
  Share of the hoist's time that is left for crates, the rest being for people
  and other trades: a trip takes its minutes divided by this.
  Allowed: a number above 0 and at most 1; needed always.
    share = 0.35
```
```console
$ towerpace keys hoist.share
hoist.share  [share]
  Share of the hoist's time that is left for crates, the rest being for people
...
```
```console
$ towerpace forecast nowhere.toml 2>/dev/null
```
```toml
left = "as it is"
```
```python
>>> a = 2
>>> print("x"), [a,
...     3]
x
(None, [2, 3])
```
Between.
```python
>>> a + 1
3
>>> for k in range(2):
...     print()
<BLANKLINE>
<BLANKLINE>

```
"""


@pytest.fixture
def played(tmp_path, monkeypatch):
    """A page of the given text, as it should be."""
    (tmp_path / "house" / "scenarios").mkdir(parents=True)
    (tmp_path / "empty").mkdir()
    monkeypatch.setattr(pages, "ROOT", tmp_path / "house")

    def of(text):
        (tmp_path / "house" / "page.md").write_text(text, encoding="utf-8")
        return true_text("page.md", tmp_path / "empty")

    return of


def test_outputs_are_written_anew_and_all_else_is_left(played):
    assert played(PAGE) == TRUE


def test_a_true_page_stays_as_it_is(played):
    assert played(TRUE) == TRUE


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("```console\n$ ls\n```", "ls: only towerpace can be played"),
        ("```python\n>>> 1 / 0\n\n```", "division by zero"),
    ],
)
def test_what_cannot_be_played_is_no_output(played, text, said):
    with pytest.raises(RuntimeError, match=said):
        played(text)


def test_a_fault_of_ours_is_no_output(played, monkeypatch):
    def broken(**_):
        raise ValueError("a fault of ours")

    monkeypatch.setattr("towerpace.start.keys_page.page", broken)
    with pytest.raises(RuntimeError, match="Please report it"):
        played("```console\n$ towerpace keys --page\n```")
