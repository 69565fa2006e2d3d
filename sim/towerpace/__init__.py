"""towerpace: what is a tower's finish date worth?

A tower's installation is a plan of steps that share pools and wait for windows; a draw decides what is
uncertain in one trial; the engine plays it; the answers are pure functions of the diaries of many trials.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from towerpace.answers.estimates import LATER
    from towerpace.answers.sweep.read import load_study
    from towerpace.draws import Draw
    from towerpace.engine.diary import Diary
    from towerpace.engine.fastest import run
    from towerpace.face.add import add
    from towerpace.face.ahead import ahead
    from towerpace.face.baseline import baseline
    from towerpace.face.bid import bid
    from towerpace.face.build import Compiled, build
    from towerpace.face.check import check
    from towerpace.face.choose import choose
    from towerpace.face.compare import compare
    from towerpace.face.delay import delay
    from towerpace.face.events import events
    from towerpace.face.explain import explain
    from towerpace.face.forecast import forecast
    from towerpace.face.know import know
    from towerpace.face.rates import rates
    from towerpace.face.report import report
    from towerpace.face.score import score
    from towerpace.face.sheet import sheet
    from towerpace.face.sweep import sweep
    from towerpace.face.update import update
    from towerpace.face.use import use
    from towerpace.face.weather import weather
    from towerpace.faults import InputError
    from towerpace.plan.model import Plan
    from towerpace.plan.parts import After, Give, Pool, Step, Window
    from towerpace.scenario.load import load
    from towerpace.scenario.own import OwnLaw, OwnRule, OwnSpread

_HOME = {
    "After": "towerpace.plan.parts",
    "Compiled": "towerpace.face.build",
    "Diary": "towerpace.engine.diary",
    "Draw": "towerpace.draws",
    "Give": "towerpace.plan.parts",
    "InputError": "towerpace.faults",
    "LATER": "towerpace.answers.estimates",
    "OwnLaw": "towerpace.scenario.own",
    "OwnRule": "towerpace.scenario.own",
    "OwnSpread": "towerpace.scenario.own",
    "Plan": "towerpace.plan.model",
    "Pool": "towerpace.plan.parts",
    "Step": "towerpace.plan.parts",
    "Window": "towerpace.plan.parts",
    "add": "towerpace.face.add",
    "ahead": "towerpace.face.ahead",
    "baseline": "towerpace.face.baseline",
    "bid": "towerpace.face.bid",
    "build": "towerpace.face.build",
    "check": "towerpace.face.check",
    "choose": "towerpace.face.choose",
    "compare": "towerpace.face.compare",
    "delay": "towerpace.face.delay",
    "events": "towerpace.face.events",
    "explain": "towerpace.face.explain",
    "forecast": "towerpace.face.forecast",
    "know": "towerpace.face.know",
    "load": "towerpace.scenario.load",
    "load_study": "towerpace.answers.sweep.read",
    "rates": "towerpace.face.rates",
    "report": "towerpace.face.report",
    "run": "towerpace.engine.fastest",
    "score": "towerpace.face.score",
    "sheet": "towerpace.face.sheet",
    "sweep": "towerpace.face.sweep",
    "use": "towerpace.face.use",
    "update": "towerpace.face.update",
    "weather": "towerpace.face.weather",
}
__all__ = [
    "LATER",
    "After",
    "Compiled",
    "Diary",
    "Draw",
    "Give",
    "InputError",
    "OwnLaw",
    "OwnRule",
    "OwnSpread",
    "Plan",
    "Pool",
    "Step",
    "Window",
    "add",
    "ahead",
    "baseline",
    "bid",
    "build",
    "check",
    "choose",
    "compare",
    "delay",
    "events",
    "explain",
    "forecast",
    "know",
    "load",
    "load_study",
    "rates",
    "report",
    "run",
    "score",
    "sheet",
    "sweep",
    "update",
    "use",
    "weather",
]
__version__ = "0.6.0"


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used: the command line must answer at once."""
    if name not in _HOME:
        raise AttributeError(f"module 'towerpace' has no attribute '{name}'")
    return getattr(import_module(_HOME[name]), name)
