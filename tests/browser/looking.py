"""What every screen must stand: no sideways scrolling, nothing serious by axe, three widths, two lights."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

WIDTHS = {"desk": (1280, 800), "tablet": (820, 1180), "phone": (390, 844), "narrow": (320, 700)}


def sideways(page: Page) -> int:
    """By how many pixels the page is wider than its window."""
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


def serious(page: Page) -> list[str]:
    """What axe finds that is serious or critical, one line each."""
    found = Axe().run(page, options={"preload": False}).response["violations"]
    return [
        f"{v['id']}: {node['target']} {node['failureSummary']}"
        for v in found
        if v["impact"] in ("serious", "critical")
        for node in v["nodes"][:3]
    ]


def faults(page: Page, url: str) -> list[str]:
    """All that is wrong with one screen, at every width and in both lights."""
    found = []
    for name, (width, height) in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        page.goto(url)
        if (over := sideways(page)) > 0:
            found.append(f"{url} is {over} px too wide at {name}")
    page.set_viewport_size({"width": 1280, "height": 800})
    for light in ("light", "dark"):
        page.emulate_media(color_scheme=light)
        page.goto(url)
        found += [f"{url}, {light}: {line}" for line in serious(page)]
    return found
