"""The owner's pages, by resource: each list of routes stands beside its screens."""

from . import (
    routes_builds,
    routes_cutting,
    routes_material,
    routes_papers,
    routes_shop,
    routes_tablets,
    routes_week,
)

app_name = "owner"

urlpatterns = [
    *routes_week.routes,
    *routes_builds.routes,
    *routes_papers.routes,
    *routes_material.routes,
    *routes_cutting.routes,
    *routes_shop.routes,
    *routes_tablets.routes,
]
