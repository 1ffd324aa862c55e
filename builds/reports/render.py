"""Turns a prepared report into its page and its PDF: one function for every paper."""

from __future__ import annotations

import mimetypes
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from weasyprint import HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

_FONTS = FontConfiguration()


class OutsideFetch(FatalURLFetchingError):
    """A paper asked for something that is not on this machine."""


def render(template: str, report: Any) -> tuple[str, bytes]:
    """The HTML of `report` and its tagged PDF (PDF/UA-1). Fetches nothing from outside this machine.

    `template` gets the report as `report`. Raises OutsideFetch when it names an address elsewhere.
    """
    page = render_to_string(template, {"report": report})
    return page, pdf_of(page)


def pdf_of(page: str) -> bytes:
    document = HTML(string=page, base_url="paper:///", url_fetcher=OwnFiles())
    return document.write_pdf(pdf_variant="pdf/ua-1", font_config=_FONTS)


class OwnFiles(URLFetcher):
    """Serves `static:NAME` from the project's static files and `media:NAME` from kept photos, no more."""

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        scheme, _, name = url.partition(":")
        path = {"static": _static, "media": _media}.get(scheme, _nothing)(name)
        if path is None:
            raise OutsideFetch(f"A paper may not fetch {url[:200]}.")
        kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})


def _nothing(_name: str) -> None:
    return None


def _static(name: str) -> Path | None:
    found = finders.find(name.lstrip("/"))
    return Path(found) if isinstance(found, str) else None


def _media(name: str) -> Path | None:
    root = Path(settings.MEDIA_ROOT).resolve()
    path = (root / name.lstrip("/")).resolve()
    return path if path.is_relative_to(root) and path.is_file() else None
