"""Applies an HTMX answer to the page it came from, as the browser would, to compare it with a fresh load.

What a person sees after a swap must be what they would see after a reload: this catches stale
counters and forgotten parts without a browser.
"""

from __future__ import annotations

import re

from lxml import html

VOLATILE = re.compile(r'\s*(?:name="(?:csrfmiddlewaretoken|event|once)" value="[^"]*"|data-etag="[^"]*")')


def part(page: str, selector: str) -> str:
    """The outer HTML of the one element `#id` in a page or a fragment, blanks folded."""
    found = html.fromstring(page).xpath(f'//*[@id="{selector.lstrip("#")}"]')
    assert len(found) == 1, f"{selector} stands {len(found)} times"
    return _folded(html.tostring(found[0], encoding="unicode", with_tail=False))


def applied(page: str, answer: str, target: str) -> str:
    """`page` after `answer` replaced `#target` (outerHTML), its hx-swap-oob parts swapped by id too."""
    tree = html.fromstring(page)
    pieces = html.fragments_fromstring(answer)
    for piece in [p for p in pieces if not isinstance(p, str)]:
        where = piece.get("id") if piece.attrib.pop("hx-swap-oob", None) else target.lstrip("#")
        old = tree.xpath(f'//*[@id="{where}"]')
        assert len(old) == 1, f"#{where} stands {len(old)} times on the page"
        piece.tail = old[0].tail
        old[0].getparent().replace(old[0], piece)
    return _folded(html.tostring(tree, encoding="unicode"))


def assert_same_as_fresh(page: str, answer: str, fresh: str, target: str, *, within: str = "main") -> None:
    """After the swap the main part of the page equals a fresh load of it."""
    swapped = applied(page, answer, target)
    assert part(swapped, within) == part(fresh, within)


def _folded(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r">\s+<", "><", VOLATILE.sub("", text))).strip()
