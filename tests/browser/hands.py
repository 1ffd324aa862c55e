"""What a hand in a glove and an eye at arm's length need of a screen, measured in the browser."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

LEAST_TARGET_PX = 48
"""The size for gloves; more than the 44 of WCAG 2.2, success criterion 2.5.5 (target size, enhanced)."""

LEAST_CONTRAST = 7
"""WCAG 2.2, success criterion 1.4.6 (contrast, enhanced); held here for large text too."""

OPEN_ALL = "document.querySelectorAll('details').forEach((fold) => { fold.open = true; })"

TARGETS = """(least) => {
  const controls = "a[href], button, summary, input:not([type=hidden]), select, textarea, [role=button]";
  const shown = (one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest(".unseen, .skip");
  const words = (one) => (one.textContent || one.name || "").trim().slice(0, 40);
  const name = (one) => `${one.tagName.toLowerCase()}#${one.id} “${words(one)}”`;
  const parts = (one) => [one, ...one.querySelectorAll("img"),
    ...(one.matches("[type=checkbox], [type=radio]") ? one.labels ?? [] : [])];
  const found = { wrong: [], looked: 0 };
  for (const one of [...document.querySelectorAll(controls)].filter(shown)) {
    one.scrollIntoView({ block: "center" });
    const boxes = parts(one).map((part) => part.getBoundingClientRect());
    const [left, top] = ["left", "top"].map((side) => Math.min(...boxes.map((box) => box[side])));
    const [right, bottom] = ["right", "bottom"].map((side) => Math.max(...boxes.map((box) => box[side])));
    found.looked += 1;
    if (right - left < least - 0.5 || bottom - top < least - 0.5) {
      found.wrong.push(`${name(one)} is ${Math.round(right - left)} x ${Math.round(bottom - top)} px`);
    }
    const hit = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
    if (!parts(one).some((part) => part.contains(hit)) && !hit?.contains(one)) {
      found.wrong.push(`${name(one)} lies under ${hit ? name(hit) : "nothing"}`);
    }
  }
  return found;
}"""

CONTRASTS = """(least) => {
  const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const rgba = (word) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = word;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const light = (colour) => {
    const linear = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    const [r, g, b] = colour.map((v) => linear(v / 255));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = rgba(getComputedStyle(at).backgroundColor);
      if (colour[3] === 255) return colour;
      if (colour[3] !== 0) return null;
    }
    return [255, 255, 255, 255];
  };
  const found = { wrong: [], looked: 0 };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const words = walker.currentNode.textContent.trim(), one = walker.currentNode.parentElement;
    const shown = one.checkVisibility({ visibilityProperty: true });
    if (!words || !shown || one.closest(".unseen, .skip, script, style")) continue;
    const style = getComputedStyle(one), under = ground(one);
    found.looked += 1;
    const over = light(rgba(style.color).slice(0, 3)), below = under && light(under.slice(0, 3));
    const ratio = under ? (Math.max(over, below) + 0.05) / (Math.min(over, below) + 0.05) : 0;
    if (ratio < least || Number(style.opacity) < 1) {
      found.wrong.push(`“${words.slice(0, 40)}” has ${ratio.toFixed(2)}:1`);
    }
  }
  return found;
}"""

ONLY_ON_HOVER = """() => {
  const harmless = /^(color|background|border|text-decoration|outline|cursor)/;
  const found = [];
  const read = (rules) => {
    for (const rule of rules) {
      if (rule.selectorText?.includes(":hover")) {
        const more = [...rule.style].filter((name) => !harmless.test(name));
        if (more.length) found.push(`${rule.selectorText} changes ${more.join(", ")}`);
      }
      if (rule.cssRules) read(rule.cssRules);
      if (rule.styleSheet) read(rule.styleSheet.cssRules);
    }
  };
  for (const sheet of document.styleSheets) read(sheet.cssRules);
  for (const one of document.querySelectorAll("[title]")) found.push(`a title on ${one.tagName}`);
  return found;
}"""

HEARD = """
  window.heard = new Set();
  const listen = EventTarget.prototype.addEventListener;
  EventTarget.prototype.addEventListener = function (type, ...rest) {
    window.heard.add(type);
    return listen.call(this, type, ...rest);
  };
"""
"""Put before the page's own scripts, it notes every kind of event that they listen to."""


def small_targets(page: Page) -> list[str]:
    """Each thing to tap that is too small, or that something else lies over."""
    found = page.evaluate(TARGETS, LEAST_TARGET_PX)
    assert found["looked"], "nothing to tap"
    return found["wrong"]


def faint_words(page: Page) -> list[str]:
    """Each text with less contrast than is asked for, by own reckoning and by axe's."""
    found = page.evaluate(CONTRASTS, LEAST_CONTRAST)
    assert found["looked"], "nothing to read"
    rule = {"type": "rule", "values": ["color-contrast-enhanced"]}
    seen = Axe().run(page, options={"preload": False, "runOnly": rule}).response
    assert seen["passes"], "axe read nothing"
    by_axe = [node["failureSummary"] for each in seen["violations"] for node in each["nodes"]]
    return found["wrong"] + by_axe
