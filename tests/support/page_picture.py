"""Draw the README's picture of the page: python tests/support/page_picture.py diagrams/page/example.png."""

import sys
import tempfile
from pathlib import Path

from comeback.cli.command_line import run

sys.path.insert(0, str(Path(__file__).parent.parent))
from support.browser import NO_BROWSER, PHONE, chromium, look

ADDRESS = """
  const { knowledge } = JSON.parse(document.getElementById("data").textContent);
  location.hash = `#${knowledge}/bay/rough-idle/0.ok`;
"""


def main(picture: str) -> None:
    """Step 1 of rough idle after an engine cleaning, on a phone."""
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        if browser is None:
            raise SystemExit(NO_BROWSER)
        place = Path(folder) / "page.html"
        run(["page", "intake-cleaning", "--complaint", "rough-idle", "-o", str(place)])
        look(browser, PHONE)
        browser.get(place.as_uri())
        browser.execute_script(ADDRESS)
        browser.save_screenshot(picture)


if __name__ == "__main__":
    main(*sys.argv[1:])
