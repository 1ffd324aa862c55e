"""Fills a form as the browser would: with what stands in it, and what a person types over that."""

from __future__ import annotations

from lxml import html


def filled(page: str, *, where: str = "main") -> dict[str, str | list[str]]:
    """What the largest form within `#where` would send as it stands, its buttons left out."""
    forms = html.fromstring(page).xpath(f'//*[@id="{where}"]//form')
    form = max(forms, key=lambda f: len(f.inputs.keys()))
    sent: dict[str, str | list[str]] = {}
    for name, value in form.form_values():
        known = sent.get(name)
        sent[name] = value if known is None else [*([known] if isinstance(known, str) else known), value]
    sent.pop("csrfmiddlewaretoken", None)
    return sent


def post_form(client, page: str, typed: dict, **more):
    """Opens a page, types into its form, sends it."""
    return client.post(page, filled(client.get(page).content.decode()) | typed, **more)
