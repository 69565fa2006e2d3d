"""towerpace keys: what each key of a scenario means."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from towerpace.cli.terminal import WIDTH, AsJson, print_json

if TYPE_CHECKING:
    from towerpace.scenario.vocabulary import Key


def command(
    prefix: Annotated[
        str | None, typer.Argument(metavar="[PREFIX]", help="A table or key, as limit or hoist.share.")
    ] = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of a scenario file, for editors.")
    ] = False,
    page: Annotated[bool, typer.Option("--page", help="Print all keys as a page of Markdown.")] = False,
    as_json: AsJson = False,
) -> None:
    """Say what the keys of a scenario mean: unit, what is allowed, default, when needed, an example."""
    if schema:
        from towerpace.scenario.json_schema import json_schema_text

        typer.echo(json_schema_text(), nl=False)
    elif page:
        from towerpace.start.keys_page import page as whole_page

        typer.echo(whole_page(), nl=False)
    else:
        _show(prefix, as_json=as_json)


def _show(prefix: str | None, *, as_json: bool) -> None:
    from towerpace.scenario.vocabulary import look_up, vocabulary

    if as_json:
        print_json([asdict(key) for key in (look_up(prefix) if prefix else vocabulary())])
    elif prefix is None:
        _show_tables(vocabulary())
    else:
        typer.echo("\n\n".join("\n".join(_told(key)) for key in look_up(prefix)))


def _show_tables(keys: list[Key]) -> None:
    tables = [key for key in keys if key.name.replace(".NAME", "").count(".") == 0]
    width = max(len(key.line) for key in tables) + 2
    for key in tables:
        typer.echo(_wrapped(key.meaning, first=key.line.ljust(width), rest=" " * width))
    typer.echo("\nkeys PREFIX tells the keys of a table, as: towerpace keys limit")


def _told(key: Key) -> list[str]:
    unit = f"  [{key.unit}]" if key.unit else ""
    needed = f"needed {key.needed}" if key.needed else "may be left out"
    default = f"; default {key.default}" if key.default not in ("", "none") else ""
    return [
        f"{key.name}{unit}",
        _wrapped(key.meaning),
        _wrapped(f"Allowed: {key.allowed}; {needed}{default}." if key.allowed else f"{needed.capitalize()}."),
        f"    {key.line}",
    ]


def _wrapped(text: str, *, first: str = "  ", rest: str = "  ") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
