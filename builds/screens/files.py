"""Serves kept pictures and papers: only ours, only of known kinds, never sniffed, never cached by others."""

from __future__ import annotations

from django.http import FileResponse, Http404

from builds.models import FiledPaper, Photo


def photo_response(photo: Photo, *, small: bool) -> FileResponse:
    return _file(photo.thumb if small else photo.file, "image/jpeg", f"{photo.uuid}.jpg")


def paper_response(paper: FiledPaper) -> FileResponse:
    kind, end = ("application/pdf", "pdf") if paper.is_pdf else ("image/jpeg", "jpg")
    return _file(paper.file, kind, f"{paper.uuid}.{end}")


def pdf_response(field, name: str) -> FileResponse:
    return _file(field, "application/pdf", name)


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
