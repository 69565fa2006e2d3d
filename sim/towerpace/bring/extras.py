"""Libraries that only some sources need: imported when asked for, named with their extra when missing."""

import importlib
from types import ModuleType

from towerpace.faults import Fault, InputError

EXTRA_OF = {
    "openpyxl": "spreadsheet",
    "icalendar": "calendar",
    "recurring_ical_events": "calendar",
    "dateutil.rrule": "calendar",
    "holidays": "calendar",
    "ifcopenshell": "model",
    "ifcopenshell.geom": "model",
    "ifcopenshell.util.element": "model",
    "ifcopenshell.util.placement": "model",
    "ifcopenshell.util.unit": "model",
}


def library(name: str, *, asked_by: str) -> ModuleType:
    """A library of an extra.

    asked_by : file or option that needs it, as the fault shall name it.

    Raises
    ------
    InputError
        If it is not installed, with the command that installs it.
    """
    try:
        return importlib.import_module(name)
    except ModuleNotFoundError as error:
        extra = EXTRA_OF[name]
        allowed = f"pip install 'towerpace[{extra}]'"
        fault = Fault(asked_by, None, extra, f"missing library {name.partition('.')[0]}", allowed)
        raise InputError([fault]) from error
