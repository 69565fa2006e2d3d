"""Files that come with the program: the demo, and a wind record that is not your site's."""

import re
import shutil
from pathlib import Path

import towerpace

RECORD = "laguardia_2013_hourly.csv"
RECORD_UTC_OFFSET_H = -5
NOT_YOUR_SITE = "LaGuardia Airport 2013, not your site; see weather/provenance.md"
_RECORD_LINE = re.compile(r'^record = ".*"$', re.MULTILINE)


def shipped(*parts: str) -> Path:
    """A file or folder under the examples: inside an installed package, else in the repository."""
    package = Path(towerpace.__file__).parent
    installed = package / "start" / "examples"
    examples = installed if installed.is_dir() else package.parents[1] / "scenarios"
    return examples.joinpath(*parts)


def copy_record(folder: Path) -> str:
    """Put the shipped record with its provenance under a folder; its path from there."""
    weather = folder / "weather"
    weather.mkdir()
    for name in (RECORD, "provenance.md"):
        shutil.copyfile(shipped("weather", name), weather / name)
    return f"weather/{RECORD}"


def copy_demo(folder: Path, *, schema: str) -> None:
    """Put the demo into an empty folder, so that it stands there alone.

    schema : name of the schema file beside it.
    """
    record = copy_record(folder)
    text = shipped("gannet_wharf", "scenario.toml").read_text(encoding="utf-8")
    text = _RECORD_LINE.sub(f'record = "{record}"', text)
    (folder / "scenario.toml").write_text(f"#:schema ./{schema}\n{text}", encoding="utf-8", newline="\n")
    shutil.copyfile(shipped("gannet_wharf", "levels.csv"), folder / "levels.csv")
