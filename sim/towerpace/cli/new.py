"""towerpace new: a first scenario from a dozen answers, or the demo to try."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from towerpace.cli.terminal import WIDTH, progress

if TYPE_CHECKING:
    from towerpace.start.questions import Question

TRIALS = 20
Answer = str | None


def command(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A new or an empty folder.")],
    example: Annotated[bool, typer.Option("--example", help="Copy the demo, a whole tower.")] = False,
    unasked: Annotated[
        bool, typer.Option("--unasked", help="Ask nothing: take the default of what is not given.")
    ] = False,
    name: Annotated[Answer, typer.Option(help="Name of the tower.")] = None,
    start: Annotated[Answer, typer.Option(help="First day of the work, as 2027-03-01.")] = None,
    levels: Annotated[Answer, typer.Option(help="Number of levels.")] = None,
    height: Annotated[Answer, typer.Option(help="Height of the highest level above ground [m].")] = None,
    zones: Annotated[Answer, typer.Option(help="Names of the zones of a level, commas between.")] = None,
    panels: Annotated[Answer, typer.Option(help="Panels on each zone of a level.")] = None,
    days: Annotated[Answer, typer.Option(help="Working days a week: 5, 6 or 7.")] = None,
    cycle: Annotated[Answer, typer.Option(help="Days from one handover to the next.")] = None,
    gangs: Annotated[Answer, typer.Option(help="Panel gangs.")] = None,
    cranes: Annotated[Answer, typer.Option(help="Floor cranes.")] = None,
    hoists: Annotated[Answer, typer.Option(help="Hoists.")] = None,
    wind_limit: Annotated[
        Answer, typer.Option(help="Wind above which no panel is lifted [m/s]; there is no default.")
    ] = None,
    wind_kind: Annotated[Answer, typer.Option(help="Whether it means gust or mean; no default.")] = None,
    wind_authority: Annotated[
        Answer, typer.Option(help="Who set it: a plate, a lift plan, a standard; no default.")
    ] = None,
    record: Annotated[
        Answer, typer.Option(help="Your wind record (CSV); without it LaGuardia 2013, not your site.")
    ] = None,
    utc_offset: Annotated[Answer, typer.Option(help="Standard time of your record ahead of UTC [h].")] = None,
) -> None:
    """Begin a scenario: ask what must be known, write it with comments, check it and play 20 trials."""
    texts = {key: text for key, text in locals().items() if key not in _NO_ANSWERS and text is not None}
    from towerpace.start import new
    from towerpace.start.folder import check_new

    check_new(folder)
    if example:
        path = new.example(folder)
        typer.echo(f"The demo, Gannet Wharf: {path}\n")
        _say_next(path, ["forecast", "explain", "compare"])
        return
    answers, given = _answers(texts, ask=sys.stdin.isatty() and not unasked)
    path = new.begin(folder, answers, given=given)
    _show(path, answers)


_NO_ANSWERS = ("folder", "example", "unasked")


def _answers(texts: Mapping[str, str], *, ask: bool) -> tuple[dict[str, Any], set[str]]:
    from towerpace.start.questions import taken

    if not ask:
        return taken(texts)
    return _asked(texts)


def _asked(texts: Mapping[str, str]) -> tuple[dict[str, Any], set[str]]:
    """Answers from the options, and from the terminal for the rest; those that are no default."""
    from towerpace.start.questions import questions

    answers: dict[str, Any] = {}
    given = set(texts)
    typer.echo("Enter takes the value in brackets: a starting value, to be replaced later.\n")
    for question in questions():
        if question.key == "utc_offset" and answers["record"] is None and question.key not in texts:
            answers[question.key] = 0.0
            continue
        usual = None if question.usual is None else question.usual(answers)
        text, taken = _until_taken(question, texts.get(question.key), usual=usual, answers=answers)
        answers[question.key] = taken
        given |= {question.key} if text != usual else set()
    return answers, given


def _until_taken(
    question: Question, text: str | None, *, usual: str | None, answers: Mapping[str, Any]
) -> tuple[str, Any]:
    """The text that was taken and the answer that it makes; asks again as long as it cannot be used."""
    from towerpace.start.questions import NotTakenError, answer

    while True:
        if text is None:
            text = _prompted(question.ask, usual=usual)
        try:
            return text, answer(question, text, answers)
        except NotTakenError as error:
            typer.echo(f"  {text}: not taken; allowed: {error}", err=True)
            text = None


def _prompted(ask: str, *, usual: str | None) -> str:
    try:
        return str(typer.prompt(ask, default=usual))
    except typer.Abort:
        # Ctrl-C at a question ends as it does anywhere else: with nothing written.
        raise KeyboardInterrupt from None


def _show(path: Path, answers: Mapping[str, Any]) -> None:
    """Check the new scenario, play some trials, and say what to do next."""
    from towerpace.answers.cautions import LIMITS_CAUTION
    from towerpace.answers.outline import outline
    from towerpace.answers.prepare import prepare
    from towerpace.face.forecast import forecast
    from towerpace.scenario import load
    from towerpace.start.scenario_text import law_told

    scenario = load(path)
    size = outline(prepare(scenario))
    _say(
        f"{path}: no faults; {size.levels} levels, {size.zones} zones, {size.panels:,} panels, "
        f"{size.steps:,} steps"
    )
    other_law = law_told(answers["height"])
    for warning in (*([other_law] if other_law else []), *size.warnings):
        _say(f"! {warning}")
    with progress(f"{scenario.settings.tower.name}: trials", TRIALS) as on_done:
        impression = forecast(scenario, trials=TRIALS, on_done=on_done)
    typer.echo()
    _say(f"{TRIALS} trials, for a first impression: {impression.answer.said}")
    typer.echo()
    _say_next(path, ["check", "forecast", "compare"])
    _say(f"! {LIMITS_CAUTION}")


def _say(sentence: str) -> None:
    typer.echo(textwrap.fill(sentence, WIDTH, break_on_hyphens=False, break_long_words=False))


_NEXT = {
    "check": "counts the starting values that nobody has stood for: replace them",
    "forecast": "plays 1,000 trials, with tables and figures",
    "explain": "says what held the finish",
    "compare": "plays the what-ifs under [setup.NAME] against the base",
}


def _say_next(path: Path, commands: list[str]) -> None:
    typer.echo("Next:")
    for name in commands:
        typer.echo(f"  towerpace {name} {path}\n    {_NEXT[name]}")
    typer.echo("  towerpace keys\n    says what the keys of the scenario mean")
