"""A headless Chromium for tests of the page, and what it says of it: errors, requests, roles, contrast."""

import shutil
import tempfile
from contextlib import contextmanager

NO_BROWSER = "no browser: apt-get install chromium chromium-driver, pip install selenium"
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--hide-scrollbars",
    "--disable-ipc-flooding-protection",  # else it drops all but 200 addresses in 10 s: no finger is that quick
)  # fmt: skip
PHONE, TABLET = (360, 740), (1024, 768)


@contextmanager
def chromium():
    """A driver; None if there is no browser here."""
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    try:
        from selenium import webdriver
        from selenium.webdriver.chrome.service import Service
    except ImportError:
        program = None
    if not program or not driver:
        yield None
        return
    options = webdriver.ChromeOptions()
    options.binary_location = program
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        browser = webdriver.Chrome(options=options, service=Service(driver))
        try:
            yield browser
        finally:
            browser.quit()


def look(browser, size=PHONE, scheme="light", contrast="no-preference"):
    """Show it on a screen of that size, in light or dark."""
    metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    features = {"prefers-color-scheme": scheme, "prefers-contrast": contrast}
    media = [{"name": name, "value": value} for name, value in features.items()]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": media})


CONTRAST = """
  const parts = (color) => (color.match(/[\\d.]+/g) || []).map(Number);
  const linear = (x) => (x <= .04045 ? x / 12.92 : ((x + .055) / 1.055) ** 2.4);
  const light = (color) => {
    const [r, g, b] = parts(color).slice(0, 3).map((part) => linear(part / 255));
    return .2126 * r + .7152 * g + .0722 * b;
  };
  const ground = (one) => {
    for (; one; one = one.parentElement) {
      const color = getComputedStyle(one).backgroundColor, found = parts(color);
      if (found.length === 3 || found[3] > 0) return color;
    }
    return "rgb(255, 255, 255)";
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), low = [];
  while (walker.nextNode()) {
    const text = walker.currentNode.data.trim(), one = walker.currentNode.parentElement;
    if (!text || !one.checkVisibility() || ["SCRIPT", "STYLE"].includes(one.tagName)) continue;
    const [a, b] = [light(getComputedStyle(one).color), light(ground(one))].sort((x, y) => y - x);
    const ratio = (a + .05) / (b + .05);
    if (ratio < arguments[0]) low.push([one.className, text.slice(0, 40), Math.round(ratio * 100) / 100]);
  }
  return low;
"""
"""Texts with less contrast than asked for, by the formula of WCAG 2.2, "relative luminance" and "contrast ratio"."""

TOO_SMALL = """
  return [...document.querySelectorAll("button, input, summary")].filter((one) => one.checkVisibility())
    .map((one) => [one.textContent || one.id, one.getBoundingClientRect()])
    .filter(([, { width, height }]) => Math.round(width) < arguments[0] || Math.round(height) < arguments[1])
    .map(([name]) => name);
"""
"""What is tapped and is smaller than so many CSS pixels."""


def requests(browser):
    """Addresses asked for since the last call."""
    import json

    events = (json.loads(entry["message"])["message"] for entry in browser.get_log("performance"))
    return [event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"]


def roles(browser):
    """(role, name, properties) of what assistive technology is told, in order."""
    nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    return [
        (node["role"]["value"], node.get("name", {}).get("value", ""),
         {one["name"]: one["value"].get("value") for one in node.get("properties", [])})
        for node in nodes if not node.get("ignored")
    ]  # fmt: skip
