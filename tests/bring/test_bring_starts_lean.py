"""The libraries of the extras are loaded when a file asks for them, and not before."""

import subprocess
import sys

EXTRAS = ("openpyxl", "icalendar", "recurring_ical_events", "holidays", "ifcopenshell")


def test_the_command_line_starts_without_the_libraries_of_the_extras():
    code = f"import towerpace.cli.app, sys; print([name for name in {EXTRAS} if name in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
