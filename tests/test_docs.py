"""README and the contributor's guide cannot rot: their examples run, their outputs are true."""

import doctest
import re
from pathlib import Path

import pytest

from support.refresh_docs import PAGES, blocks, run_block

ROOT = Path(__file__).parents[1]
DOCS = ("DEVELOPERS.md", *PAGES)


@pytest.mark.parametrize("name", DOCS)
def test_python_examples_run(name, tmp_path, monkeypatch):
    (tmp_path / "scenarios").symlink_to(ROOT / "scenarios", target_is_directory=True)
    monkeypatch.chdir(tmp_path)  # what an example writes is not left in the house
    text = (ROOT / name).read_text(encoding="utf-8")
    for k, example in enumerate(re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)):
        if ">>>" in example:
            test = doctest.DocTestParser().get_doctest(example, {}, f"{name} example {k}", name, 0)
            report: list[str] = []
            doctest.DocTestRunner(verbose=False).run(test, out=report.append)
            assert not report, "".join(report)


@pytest.mark.slow
@pytest.mark.parametrize(
    "block",
    [block for page in PAGES for block in blocks((ROOT / page).read_text(encoding="utf-8"))],
    ids=lambda b: b.command,
)
def test_the_output_of_every_command_of_the_pages_is_true(block, tmp_path):
    assert run_block(block, tmp_path) == block.output


def test_the_test_command_of_the_readme_is_the_one_that_the_gate_runs():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    gate = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    install, test = "python -m pip install -e '.[test]'", "python -m pytest"
    assert f"{install} && {test}\n" in readme
    # Two lines there: bash goes on after a command that fails before &&.
    assert f"{install.replace('install', 'install -q')}\n{test}\n" in gate


def test_every_command_is_documented():
    from towerpace.cli.app import app

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    names = [command.name for command in app.registered_commands]
    assert names
    assert [name for name in names if f"towerpace {name}" not in readme] == []


def test_files_named_in_the_docs_exist():
    for name in DOCS:
        text = (ROOT / name).read_text(encoding="utf-8")
        named = re.findall(r"`((?:sim|scenarios|tests|results|\.ci)/[\w./-]+)`", text)
        named += re.findall(r"\]\(((?:scenarios|tests|results)/[\w./-]+)\)", text)
        assert [path for path in named if not (ROOT / path).exists()] == []
