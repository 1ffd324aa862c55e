"""The customer's page, behind a private link."""


app_name = "customer"

urlpatterns: list = []
