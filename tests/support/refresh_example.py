"""Play the published example anew and write its page.

python tests/support/refresh_example.py
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from towerpace import forecast, load, report
from towerpace.render.saved.answer_file import MANIFEST, load_saved, write_manifest

ROOT = Path(__file__).parents[2]
EXAMPLE, PAGE = ROOT / "results" / "example", ROOT / "results" / "example.html"
SCENARIO = "scenarios/gannet_wharf/scenario.toml"
# What is not published, for its size: pictures that a page draws anew, and tables for programs.
LEFT_OUT = (".svg", ".parquet")


def main() -> None:
    """Write results/example and results/example.html."""
    result = forecast(load(SCENARIO), seed=1)
    result.save(EXAMPLE, command=f"towerpace forecast {SCENARIO} --out results/example")
    for path in EXAMPLE.iterdir():
        if path.suffix in LEFT_OUT:
            path.unlink()
    manifest = load_saved(EXAMPLE).manifest
    files = [name for name in manifest.files if not name.endswith(LEFT_OUT)]
    write_manifest(replace(manifest, files=files), EXAMPLE / MANIFEST)
    report(EXAMPLE, out=PAGE)


if __name__ == "__main__":
    main()
