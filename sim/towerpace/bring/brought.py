"""What a converter made: the table or settings, where they came from, and how the source adds up."""

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from towerpace import __version__
from towerpace.faults import Fault, InputError

Said = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Tally:
    """How many things of one kind the source has, and what became of them; the sum closes.

    Parameters
    ----------
    what : str
        The things in the plural, as "rows".
    in_source, counted : int
        All of them, and those that were brought in.
    left_out : mapping of str to int
        Reasons and how many were left out for each.

    Raises
    ------
    ValueError
        If what was counted and left out is not all there is: a converter has lost something.
    """

    what: str
    in_source: int
    counted: int
    left_out: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse a sum that does not close."""
        accounted = self.counted + sum(self.left_out.values())
        if accounted != self.in_source:
            raise ValueError(f"{self.in_source} {self.what} in the source, {accounted} accounted for")

    def text(self) -> str:
        """The tally in one line, as "138 rows: 136 brought in, 2 left out (2 below the last row)"."""
        out = {reason: n for reason, n in self.left_out.items() if n}
        reasons = ", ".join(f"{n:,} {reason}" for reason, n in out.items())
        rest = f", {sum(out.values()):,} left out ({reasons})" if out else ", none left out"
        return f"{self.in_source:,} {self.what}: {self.counted:,} brought in{rest}"


@dataclass(frozen=True, slots=True)
class Brought:
    """A converted source, not yet written.

    Parameters
    ----------
    text : str
        Content of the file to write.
    sources : tuple of Path
        Files that were read.
    tallies : tuple of Tally
        How the source adds up.
    left_out : tuple of str
        Everything that was left out, one line each, with its place in the source.
    lines : tuple of str
        What people should read: sums, checks.
    warnings : tuple of str
        What they should doubt.
    made_by : str
        The library that made it, with its version, where that matters.
    said : mapping
        What the user said because the source does not, by the name of the option.
    """

    text: str
    sources: tuple[Path, ...]
    tallies: tuple[Tally, ...]
    left_out: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    made_by: str = ""
    said: Mapping[str, Said] = field(default_factory=dict)


def provenance_path(out: Path) -> Path:
    """Where the provenance of a file goes: levels.csv has levels.provenance.toml beside it."""
    return out.with_name(f"{out.stem}.provenance.toml")


def provenance_text(brought: Brought, *, out: Path) -> str:
    """Where a file came from, as TOML; the same source and the same answers give the same text."""
    lines = [
        f"# Where {out.name} came from. Written with it; change neither by hand, bring the source in again.",
        f"file = {_toml(out.name)}",
        f"sha256 = {_toml(_sha256(brought.text.encode()))}",
        f"towerpace = {_toml(__version__)}",
    ]
    if brought.made_by:
        lines.append(f"made_by = {_toml(brought.made_by)}")
    for source in brought.sources:
        lines += ["", "[[source]]", f"file = {_toml(source.name)}"]
        lines.append(f"sha256 = {_toml(_sha256(source.read_bytes()))}")
    lines += ["", "[said]", *(f"{key} = {_toml(value)}" for key, value in brought.said.items())]
    lines += ["", "[sums]", f"tallies = {_toml_list([tally.text() for tally in brought.tallies])}"]
    lines += [f"left_out = {_toml_list(brought.left_out)}", f"warnings = {_toml_list(brought.warnings)}"]
    return "\n".join(lines) + "\n"


def write_brought(brought: Brought, *, out: Path, replace: bool) -> tuple[Path, Path]:
    """Write the file and its provenance, both or neither.

    Parameters
    ----------
    out
        The file to write.
    replace
        Whether files of these names may be overwritten.

    Raises
    ------
    InputError
        If there is a file of that name, it is the source itself, or its folder cannot be written to.
    """
    paths = (out, provenance_path(out))
    if faults := target_faults(out, sources=brought.sources, replace=replace):
        raise InputError(faults)
    texts = (brought.text, provenance_text(brought, out=out))
    try:
        with tempfile.TemporaryDirectory(dir=out.parent, prefix=".bring-") as folder:
            for path, text in zip(paths, texts, strict=True):
                (Path(folder) / path.name).write_text(text, encoding="utf-8", newline="\n")
            for path in paths:
                os.replace(Path(folder) / path.name, path)
    except OSError as error:
        raise InputError([Fault(str(out), None, "--out", f"{error.strerror}", "a place to write")]) from error
    return paths


def target_faults(out: Path, *, sources: Sequence[Path], replace: bool) -> list[Fault]:
    """What stands in the way of writing, asked before anything is read."""
    faults = []
    if not out.parent.is_dir():
        faults.append(Fault(str(out), None, "--out", f"missing folder {out.parent}", "a folder that exists"))
    for path in (out, provenance_path(out)):
        if any(path.resolve() == source.resolve() for source in sources):
            faults.append(Fault(str(path), None, "--out", "the source itself", "another name"))
        elif path.exists() and not replace:
            faults.append(Fault(str(path), None, "--out", "a file that exists", "another name, or --replace"))
    return faults


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _toml(value: Said) -> str:
    """A value as TOML; JSON texts without control characters are TOML as well."""
    if isinstance(value, str):
        return json.dumps("".join(c if c.isprintable() else " " for c in value), ensure_ascii=False)
    return str(value).lower() if isinstance(value, bool) else repr(value)


def _toml_list(values: Sequence[str]) -> str:
    return "[" + "".join(f"\n    {_toml(value)}," for value in values) + ("\n]" if values else "]")
