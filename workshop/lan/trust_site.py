"""A site of its own over plain http that does one thing: hand out the authority, with the steps to trust it.

A tablet can't trust https before it has the authority, so this can't come by https. It holds no data,
knows no sign-in and writes nothing; whoever stands between could hand out another authority, which is why
the page asks for the fingerprint to be compared with the one on the machine's own screen.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable, Iterable
from pathlib import Path

import django
from django.template.loader import render_to_string

from .authority import LanError

AUTHORITY = "/benchweek-authority.crt"
TYPES = {
    "/": "text/html; charset=utf-8",
    "/trust.css": "text/css; charset=utf-8",
    AUTHORITY: "application/x-x509-ca-cert",
}
HEADERS = [
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
    ("Content-Security-Policy", "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'"),
]
Start = Callable[[str, list[tuple[str, str]]], object]


def site(*, pem: bytes, fingerprint: str, addresses: Iterable[str], style: bytes) -> Callable:
    """A WSGI application that shows the steps and hands out `pem`; everything is held in memory."""
    context = {"fingerprint": fingerprint, "addresses": list(addresses), "authority": AUTHORITY}
    page = render_to_string("trust/page.html", context).encode()
    bodies = {"/": page, "/trust.css": style, AUTHORITY: pem}

    def answer(environ: dict, start: Start) -> list[bytes]:
        path = environ.get("PATH_INFO", "/")
        if environ.get("REQUEST_METHOD") not in ("GET", "HEAD") or path not in bodies:
            start("404 Not Found", [*HEADERS, ("Content-Type", "text/plain; charset=utf-8")])
            return [b"There is nothing here. The steps are at /"]
        more = [("Content-Type", TYPES[path]), ("Content-Length", str(len(bodies[path])))]
        if path == AUTHORITY:
            more.append(("Content-Disposition", 'attachment; filename="benchweek-authority.crt"'))
        start("200 OK", [*HEADERS, *more])
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [bodies[path]]

    return answer


def from_settings() -> Callable:
    """What the production server serves on the plain port."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "workshop.settings")
    django.setup()
    from django.conf import settings

    from .here import lan_here

    lan = lan_here()
    if lan is None:
        raise LanError("This site is started by serve_lan, which says where the authority is.")
    style = style_of(Path(settings.BASE_DIR))
    return site(pem=lan.pem, fingerprint=lan.fingerprint, addresses=lan.addresses, style=style)


def style_of(root: Path) -> bytes:
    """The colours and type of Benchweek, and this page's few rules; nothing of it fetches anything else."""
    out = io.BytesIO()
    out.write(b"@layer tokens, base, screens;\n")
    for name in ("tokens.css", "screens/trust.css"):
        out.write((root / "static" / "css" / name).read_bytes())
    return out.getvalue()
