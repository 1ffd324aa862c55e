"""The map of the house: who goes where."""

from django.urls import include, path

from builds.screens import begin, errors, sign_in
from builds.screens.floor import queued

urlpatterns = [
    path("sign-in/", sign_in.SignIn.as_view(), name="sign-in"),
    path("sign-out/", sign_in.SignOut.as_view(), name="sign-out"),
    path("begin/<slug:token>/", begin.page, name="begin"),
    path("hello/", sign_in.hello, name="hello"),
    path("service-worker.js", queued.service_worker, name="service-worker"),
    path("floor.webmanifest", queued.web_manifest, name="web-manifest"),
    path("floor/", include("builds.screens.floor.urls")),
    path("your-van/", include("builds.screens.customer.urls")),
    path("calendars/", include("builds.screens.calendars.urls")),
    path("", include("builds.screens.owner.urls")),
]

handler400 = errors.bad_request
handler403 = errors.not_yours
handler404 = errors.not_here
handler500 = errors.broke
