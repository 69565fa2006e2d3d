"""What ties the keys of decisions together, checked on the raw file.

What is of the wrong type is passed over here; the vocabulary finds it.
"""

import datetime as dt
import re
from collections.abc import Iterator

from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import MISSING, Complaint, Path, RefusalError, listed, shown, unknown_name
from towerpace.scenario.decided_values import Plain, in_range, standing_value
from towerpace.scenario.raw import Tree, named, table

MOST_VALUES = 200
OF_NAMES = ("resource", "trade", "activity", "calendar", "limit", "contract")
_ONLY_ASKED_FOR = ("resource", "calendar", "limit")  # nothing happens by them alone
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_WAYS = "values, or from, to and step"


def decision_rules(tree: Tree) -> Iterator[Complaint]:
    """Complaints about decisions whose keys do not go together."""
    seen: dict[str, str] = {}
    for name, decision in named(tree, "decision"):
        yield from _names(tree, name)
        yield from _keys(tree, name, decision, seen)
        yield from _ways(name, decision)
        yield from _together(name, decision)
        yield from _conditions(tree, name, decision)
    yield from _circles(tree)
    for name, candidate in named(tree, "candidate"):
        yield from _candidate(tree, name, candidate)


def _candidate(tree: Tree, name: str, candidate: Tree) -> Iterator[Complaint]:
    """A candidate that does nothing: without changes, or with changes of what nobody asks for."""
    if not set(candidate) - {"note", "source"}:
        allowed = "what it changes, by dotted keys as resource.hoist.count = 3"
        yield Complaint(("candidate", name), "no changes", allowed)
    said = list(_words_of({key: entry for key, entry in candidate.items() if key not in ("note", "source")}))
    for group in _ONLY_ASKED_FOR:
        names = [f"{group}.{known}" for known, _ in named(tree, group)]
        for own, _ in named(candidate, group):
            if f"{group}.{own}" not in names and said.count(own) == 1:
                yield unknown_name(("candidate", name, group, own), f"{group}.{own}", names=names)


def _words_of(node: object) -> Iterator[str]:
    """Every name and text in a tree."""
    if isinstance(node, dict):
        yield from (str(key) for key in node)
    for entry in node.values() if isinstance(node, dict) else node if isinstance(node, list) else []:
        yield from _words_of(entry)
    if isinstance(node, str):
        yield node


def keys_of(decision: Tree) -> list[str]:
    """The keys that a decision sets, as far as they are texts."""
    several = decision.get("keys")
    keys = several if isinstance(several, list) else [decision.get("key")]
    return [key for key in keys if isinstance(key, str)]


def _names(tree: Tree, name: str) -> Iterator[Complaint]:
    if not _NAME.fullmatch(name):
        yield Complaint(("decision", name), shown(name), "a name of letters, digits and _")
    elif name in table(tree, "candidate"):
        yield Complaint(("decision", name), f"{name}, a candidate too", "a name of its own")


def _keys(tree: Tree, name: str, decision: Tree, seen: dict[str, str]) -> Iterator[Complaint]:
    here: Path = ("decision", name)
    if ("key" in decision) == ("keys" in decision):
        found = "key and keys" if "key" in decision else MISSING
        yield Complaint((*here, "key"), found, "a key as resource.hoist.count, or keys that move together")
    word = "keys" if "keys" in decision else "key"
    for key in keys_of(decision):
        try:
            yield from _unknown(tree, (*here, word), parse_key(key))
        except RefusalError as refused:
            yield Complaint((*here, word), shown(key), refused.complaints[0].allowed)
        if key in seen:
            whose = "this one" if seen[key] == name else seen[key]
            yield Complaint((*here, word), shown(key), f"a key that is decided once; {whose} decides it")
        seen.setdefault(key, name)


def _unknown(tree: Tree, where: Path, key: Path) -> Iterator[Complaint]:
    """A complaint about a key of something that the file does not know: set, it would only stand beside."""
    if len(key) >= 3 and key[0] in OF_NAMES:
        group, name = str(key[0]), str(key[1])
        names = [f"{group}.{known}" for known, _ in named(tree, group)]
        if f"{group}.{name}" not in names:
            yield unknown_name(where, f"{group}.{name}", names=names)


def _ways(name: str, decision: Tree) -> Iterator[Complaint]:
    here: Path = ("decision", name)
    ends = [word for word in ("from", "to", "step") if word in decision]
    if bool(ends) == ("values" in decision):
        yield Complaint(here, f"values and {ends[0]}" if ends else "missing values", _WAYS)
    elif ends:
        missing = [word for word in ("from", "to", "step") if word not in ends]
        yield from (Complaint((*here, word), MISSING, _WAYS) for word in missing)
        if not missing:
            yield from _range(here, decision)
    values, labels = decision.get("values"), decision.get("labels")
    if isinstance(labels, list) and isinstance(values, list) and len(labels) != len(values):
        yield Complaint((*here, "labels"), f"{len(labels)} labels", f"{len(values)}, one a value")
    elif labels is not None and values is None:
        yield Complaint((*here, "labels"), "labels of a range", "labels beside values only")


def _range(here: Path, decision: Tree) -> Iterator[Complaint]:
    first, last, step = decision["from"], decision["to"], decision["step"]
    of_dates = [isinstance(end, dt.date) for end in (first, last)]
    numbers = [_is_number(value) for value in (first, last, step)]
    if any(of_dates):
        if not all(of_dates):
            yield Complaint((*here, "to"), shown(last), "two dates, or two numbers")
            return
        if type(step) is not int:
            yield Complaint((*here, "step"), shown(step), "a whole number of days between dates")
            return
    elif not all(numbers):
        return
    if first >= last:
        yield Complaint((*here, "to"), shown(last), f"after from, {shown(first)}")
    elif step > 0 and len(in_range(first, last, step, most=MOST_VALUES + 1)) > MOST_VALUES:
        yield Complaint((*here, "step"), shown(step), f"a step that gives at most {MOST_VALUES} values")


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _together(name: str, decision: Tree) -> Iterator[Complaint]:
    """Complaints about values that say something for some of several keys, or stand twice."""
    here: Path = ("decision", name, "values")
    values, keys = decision.get("values"), decision.get("keys")
    if not isinstance(values, list):
        return
    for number, value in enumerate(values):
        if isinstance(keys, list) and isinstance(value, list) and len(value) != len(keys):
            allowed = f"{len(keys)}, one for each key, or one value for all of them"
            yield Complaint((*here, number), f"a list of {len(value)} values", allowed)
        if value in values[:number]:
            yield Complaint((*here, number), f"{shown(value)} twice", "each value once")
    if len(values) > MOST_VALUES:
        yield Complaint(here, f"{len(values)} values", f"at most {MOST_VALUES}")


def _conditions(tree: Tree, name: str, decision: Tree) -> Iterator[Complaint]:
    others = dict(named(tree, "decision"))
    candidates = list(table(tree, "candidate"))
    names = [other for other in (*others, *candidates) if other != name]
    for other, wanted in table(decision, "when").items():
        path: Path = ("decision", name, "when", other)
        if other not in names:
            yield unknown_name(path, other, names=names)
            continue
        known = [False, True] if other in candidates else _values_of(tree, others[other])
        for value in wanted if isinstance(wanted, list) else [wanted]:
            if known and value not in known:
                yield Complaint(path, shown(value), f"a value of {other}: {listed(map(shown, known))}")
    not_with = decision.get("not_with")
    for number, other in enumerate(not_with if isinstance(not_with, list) else []):
        if isinstance(other, str) and other not in names:
            yield unknown_name(("decision", name, "not_with", number), other, names=names)


def _values_of(tree: Tree, decision: Tree) -> list[Plain]:
    """What a decision may be set to, the file's own value included; empty where it cannot be told."""
    values = decision.get("values")
    if not isinstance(values, list):
        if not _may_be_written_out(decision):
            return []
        values = in_range(decision["from"], decision["to"], decision["step"], most=MOST_VALUES)
    return [*values, standing_value(tree, keys_of(decision))]


def _may_be_written_out(decision: Tree) -> bool:
    """Whether from, to and step are there and of types that make a range."""
    if any(word not in decision for word in ("from", "to", "step")):
        return False
    between, step = (decision["from"], decision["to"]), decision["step"]
    of_dates = all(isinstance(end, dt.date) for end in between)
    if not _is_number(step) or not (of_dates or all(map(_is_number, between))):
        return False
    return step > 0 and not list(_range((), decision))


def _circles(tree: Tree) -> Iterator[Complaint]:
    """A decision that is open only where it is itself open."""
    waits = {name: list(table(decision, "when")) for name, decision in named(tree, "decision")}
    for name, others in waits.items():
        reached, todo = set[str](), list(others)
        while todo:
            other = todo.pop()
            if other not in reached:
                reached.add(other)
                todo += waits.get(other, [])
        if name in reached:
            yield Complaint(
                ("decision", name, "when"), "a circle that leads back here", "conditions that end"
            )
            return
