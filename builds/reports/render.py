"""Turns a prepared report into its page and its PDF: one function for every paper."""

from __future__ import annotations

import mimetypes
from pathlib import Path
from typing import Any
from urllib.parse import unquote

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

    `template` gets the report as `report`; a report has `shop_name` and `made_words` for the paper's
    edges. Raises OutsideFetch when the template names an address elsewhere.
    """
    edges = {"shop_name": report.shop_name, "made_words": report.made_words}
    page = render_to_string(template, {"report": report, **edges})
    return page, pdf_of(page)


def pdf_of(page: str) -> bytes:
    document = HTML(string=page, base_url="file:///", url_fetcher=OwnFiles())
    return document.write_pdf(pdf_variant="pdf/ua-1", font_config=_FONTS)


class OwnFiles(URLFetcher):
    """Serves the project's static files and, as `media:NAME`, kept photos. Nothing else."""

    def fetch(self, url: str, headers: Any = None) -> URLFetcherResponse:
        path, static = None, f"file://{settings.STATIC_URL}"
        if url.startswith("media:"):
            path = _media(url.removeprefix("media:"))
        elif url.startswith(static):
            path = _static(url.removeprefix(static))
        if path is None:
            raise OutsideFetch(f"A paper may not fetch {url[:200]}.")
        kind = mimetypes.guess_type(path.name)[0] or "application/octet-stream"
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": kind})


def _static(name: str) -> Path | None:
    """Under its plain name from the source, under its hashed name from where it was collected."""
    found = finders.find(name)
    return Path(found) if isinstance(found, str) else _inside(settings.STATIC_ROOT, name)


def _media(name: str) -> Path | None:
    return _inside(settings.MEDIA_ROOT, name)


def _inside(folder: str | Path, name: str) -> Path | None:
    root = Path(folder).resolve()
    path = (root / unquote(name).lstrip("/")).resolve()
    return path if path.is_relative_to(root) and path.is_file() else None
