"""Responses of a study: the answers that may be asked of every point, by their dotted names."""

import re
from dataclasses import dataclass

from towerpace.faults import nearest_word
from towerpace.scenario.changes import parse_key
from towerpace.scenario.complaints import Complaint, Path, RefusalError, shown

_PERCENTILE = re.compile(r"p([1-9]|[1-9][0-9])")
MEAN, CHANCE = "mean", "chance"
_STATISTICS = "p1 to p99 or mean"

# Kinds of response: names that follow the kind, and what is taken over the trials.
_FORMS: dict[str, tuple[tuple[str, ...], str]] = {
    "finish": ((), _STATISTICS),
    "closing_in": (("LEVEL",), _STATISTICS),
    "handover": (("LEVEL",), _STATISTICS),
    "done": (("TRADE", "LEVEL"), _STATISTICS),
    "activity": (("NAME",), _STATISTICS),
    "open_holes": ((), _STATISTICS),
    "cost": ((), _STATISTICS),
    "utilisation": (("RESOURCE",), ""),
    "idle": (("RESOURCE",), ""),
    "ledger": (("TRADE", "CAUSE"), ""),
    "held": (("TRADE",), ""),
    "criticality": (("TRADE",), ""),
    "contract": (("NAME",), ""),
    "contracts_together": ((), ""),
    "beyond_horizon": ((), ""),
    "caught": ((), ""),
}
_CHANCES = ("criticality", "contract", "contracts_together", "beyond_horizon")
_WITH_LEVEL = ("closing_in", "handover", "done")


@dataclass(frozen=True, slots=True)
class Response:
    """One answer.

    kind : as "closing_in". names : what it is of, as (20,). statistic : "p80", "mean" or "chance".
    """

    text: str
    kind: str
    names: Path
    statistic: str

    @property
    def quantity(self) -> str:
        """What it is taken of, trial by trial: the text without the percentile or mean."""
        return self.text.rsplit(".", 1)[0] if _FORMS[self.kind][1] else self.text

    @property
    def percentile(self) -> float | None:
        """0.8 for p80; None for means and chances."""
        match = _PERCENTILE.fullmatch(self.statistic)
        return int(match.group(1)) / 100 if match else None


def parse_response(text: str) -> Response:
    """The response of a dotted name.

    Raises
    ------
    RefusalError
        With the nearest name that exists.

    Examples
    --------
    >>> parse_response("closing_in.20.p80").names
    (20,)
    """
    parts = [str(part) for part in parse_key(text)]
    kind = parts[0]
    if kind not in _FORMS:
        raise RefusalError([Complaint((), shown(text), forms_in_words(), nearest_word(kind, _FORMS))])
    labels, statistics = _FORMS[kind]
    if len(parts) != 1 + len(labels) + bool(statistics):
        raise RefusalError([Complaint((), shown(text), _form(kind))])
    statistic = parts[-1] if statistics else CHANCE if kind in _CHANCES else MEAN
    if statistics and statistic != MEAN and not _PERCENTILE.fullmatch(statistic):
        raise RefusalError([Complaint((), shown(text), _form(kind), nearest_word(statistic, [MEAN, "p80"]))])
    names: Path = tuple(parts[1 : 1 + len(labels)])
    if kind in _WITH_LEVEL:
        if not re.fullmatch(r"-?\d+", str(names[-1])):
            raise RefusalError([Complaint((), shown(text), _form(kind))])
        names = (*names[:-1], int(names[-1]))
    return Response(text, kind, names, statistic)


def forms_in_words() -> str:
    """Every form a response may have."""
    return ", ".join(_form(kind) for kind in _FORMS)


def _form(kind: str) -> str:
    labels, statistics = _FORMS[kind]
    return ".".join((kind, *labels, *(["p80 or mean"] if statistics else [])))
