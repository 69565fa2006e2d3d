"""README, manual and the contributor's guide cannot rot: their examples run, their outputs are true."""

import re
from pathlib import Path

import pytest

from support.pages import PAGES, blocks, true_text
from support.refresh_docs import is_the_example

ROOT = Path(__file__).parents[1]
MANUAL = ROOT / "scenarios" / "manual"
LINES_OF_README = 200


def text_of(page):
    return (ROOT / page).read_text(encoding="utf-8")


@pytest.mark.slow
@pytest.mark.parametrize("page", PAGES)
def test_what_a_page_prints_is_true(page, tmp_path):
    assert true_text(page, tmp_path) == text_of(page), "python tests/support/refresh_docs.py"
    assert is_the_example(tmp_path), "results/example is older than the model: refresh_docs.py writes it anew"


def test_the_test_command_of_the_readme_is_the_one_that_the_gate_runs():
    readme = text_of("README.md")
    gate = text_of(".ci/run")
    install, test = "python -m pip install -e '.[test]'", "python -m pytest"
    assert f"{install} && {test}\n" in readme
    # Lines of their own there, in this order: bash goes on after a command that fails before &&.
    lines = gate.splitlines()
    assert lines.index(install.replace("install", "install -q")) < lines.index(test)


def test_every_command_is_named_in_the_readme_and_in_the_manual():
    from towerpace.cli.app import app

    manual = "".join(page.read_text(encoding="utf-8") for page in MANUAL.glob("*.md"))
    names = [command.name for command in app.registered_commands]
    assert names
    assert [name for name in names if f"towerpace {name}" not in text_of("README.md")] == []
    assert [name for name in names if f"towerpace {name}" not in manual] == []


def test_the_readme_stays_a_page_that_starts():
    assert len(text_of("README.md").splitlines()) <= LINES_OF_README


def test_every_page_of_the_manual_is_linked_from_the_readme_and_from_its_own_list():
    for page in MANUAL.glob("*.md"):
        if page.name != "README.md":
            assert f"](scenarios/manual/{page.name})" in text_of("README.md")
            assert f"]({page.name})" in text_of("scenarios/manual/README.md")


def test_files_named_in_the_docs_exist():
    for name in PAGES:
        named = re.findall(r"`((?:sim|scenarios|tests|results|\.ci)/[\w./-]+)`", text_of(name))
        linked = re.findall(r"\]\(([\w./-]+)(#[\w-]+)?\)", text_of(name))
        missing = [path for path in named if not (ROOT / path).exists()]
        missing += [path for path, _ in linked if not ((ROOT / name).parent / path).exists()]
        assert (name, missing) == (name, [])


@pytest.mark.parametrize("page", PAGES)
def test_what_commands_print_fits_a_terminal_of_80_columns(page):
    """Faults may be longer: the terminal wraps them."""
    for block in blocks(text_of(page)):
        if not re.search(r"^\S+: \d+ faults?$", block.output, flags=re.MULTILINE):
            assert [line for line in block.output.splitlines() if len(line) > 80] == []
