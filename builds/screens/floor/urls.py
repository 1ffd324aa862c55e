"""The floor's pages, on a paired tablet."""

app_name = "floor"

urlpatterns: list = []
