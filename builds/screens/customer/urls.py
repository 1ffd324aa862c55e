"""The customer's page, behind a private link."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from . import page

app_name = "customer"


class PhotoSize(StringConverter):
    regex = "small|large"


register_converter(PhotoSize, "photo_size")

urlpatterns = [
    path("<str:token>/", page.page, name="page"),
    path("<str:token>/photo/<uuid:uuid>/<photo_size:size>/", page.photo, name="photo"),
    path("<str:token>/sheet/<int:sheet>.pdf", page.sheet_pdf, name="sheet-pdf"),
]
