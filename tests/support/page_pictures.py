"""Pictures of the page to work at on the demo, made in a browser: `python tests/support/page_pictures.py`.

`results/page.png` is the page with a few changes, `results/page_trial.png` a trial played to a morning.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path
from urllib.parse import quote

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from support import browser  # noqa: E402  as a script it stands outside the path of the tests
from support.workbench_client import opened  # noqa: E402  as above

DEMO = ROOT / "scenarios" / "gannet_wharf" / "scenario.toml"
CHANGES = {"resource.panel_gang.count": 3, "limit.flat_lift.wind_above_m_s": 9.3}
READY = "document.querySelector('#headline.known') && !document.body.classList.contains('asking')"
WIDTH, HEIGHT = 1280, 1110
MOST_BYTES = 250_000
WEEKS = 22  # after the first panel


def main() -> None:
    """Write both pictures."""
    profile = tempfile.TemporaryDirectory()
    with profile as folder, opened(DEMO, "--seed", "1") as site, browser.opened(folder) as tab:
        tab.show(site.address, width=WIDTH, height=HEIGHT)
        tab.show(f"{site.origin}/#changes={quote(json.dumps(CHANGES))}", width=WIDTH, height=HEIGHT)
        tab.until(READY, patience_s=300)
        write("page.png", tab.screen())
        tab.value("document.getElementById('play-this').click()")
        tab.until("document.activeElement.id === 'player'")
        tab.press(*["PageUp"] * WEEKS, "ArrowRight")
        tab.value("document.activeElement.blur()")
        write("page_trial.png", tab.picture(of="document.getElementById('played')"))


def write(name: str, png: bytes) -> None:
    """Write a picture that is small enough for a page to show."""
    if len(png) > MOST_BYTES:
        raise SystemExit(f"{name}: {len(png):,} bytes; at most {MOST_BYTES:,}")
    (ROOT / "results" / name).write_bytes(png)


if __name__ == "__main__":
    main()
