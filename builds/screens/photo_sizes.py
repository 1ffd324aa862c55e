"""The two sizes a kept photo comes in, as part of an address."""

from django.urls import register_converter
from django.urls.converters import StringConverter


class PhotoSize(StringConverter):
    regex = "small|large"


register_converter(PhotoSize, "photo_size")
