"""Serves kept pictures and papers: only ours, only of known kinds, never sniffed, never cached by others.

What people sent in is shown as a document without rights (a sandbox without scripts, forms or the reader's
sign-in); a PDF of theirs is handed over to be saved, for it may carry scripts of its own.
"""

from __future__ import annotations

from django.http import FileResponse, Http404

from builds.models import FiledPaper, Photo

WITHOUT_RIGHTS = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""Content Security Policy level 3 (W3C): a sandbox without allowances; the style is the browser's own."""


def photo_response(photo: Photo, *, small: bool) -> FileResponse:
    return _sent_in(photo.thumb if small else photo.file, "image/jpeg", f"{photo.uuid}.jpg")


def paper_response(paper: FiledPaper) -> FileResponse:
    kind, end = ("application/pdf", "pdf") if paper.is_pdf else ("image/jpeg", "jpg")
    return _sent_in(paper.file, kind, f"{paper.uuid}.{end}", to_save=paper.is_pdf)


def pdf_response(field, name: str) -> FileResponse:
    """A PDF that Benchweek made itself, shown in the browser."""
    return _file(field, "application/pdf", name)


def _sent_in(field, kind: str, name: str, *, to_save: bool = False) -> FileResponse:
    response = _file(field, kind, name)
    response["Content-Security-Policy"] = WITHOUT_RIGHTS
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    if to_save:
        response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _file(field, kind: str, name: str) -> FileResponse:
    try:
        handle = field.open("rb")
    except (FileNotFoundError, ValueError):
        raise Http404 from None
    response = FileResponse(handle, content_type=kind)
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, max-age=86400"
    return response
