"""The customer's page, behind a private link."""

from django.urls import path

from builds.screens import photo_sizes  # noqa: F401  registers <photo_size:...>

from . import page

app_name = "customer"

urlpatterns = [
    path("<str:token>/", page.page, name="page"),
    path("<str:token>/photo/<uuid:uuid>/<photo_size:size>/", page.photo, name="photo"),
    path("<str:token>/sheet/<int:sheet>.pdf", page.sheet_pdf, name="sheet-pdf"),
]
