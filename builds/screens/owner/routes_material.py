"""Material: totals over builds, one build's needs, the paper."""

from django.urls import path

from . import material

routes = [
    path("material/", material.page, name="material"),
    path("material/totals.pdf", material.paper, name="material-pdf"),
    path("builds/<int:build>/material/", material.of_build, name="build-material"),
    path("builds/<int:build>/material/need/", material.need_add, name="need-add"),
    path("builds/<int:build>/material/reckon/", material.reckon, name="needs-reckon"),
    path("builds/<int:build>/material/need/<int:need>/", material.need, name="need"),
    path("builds/<int:build>/material/need/<int:need>/remove/", material.need_remove, name="need-remove"),
]
