"""The floor's pages, on a paired tablet. The person is part of the address: a tablet is shared."""

from django.urls import path

from builds.screens import photo_sizes  # noqa: F401  registers <photo_size:...>

from . import checks, evidence, pairing, queued, sheet, units, van, work

app_name = "floor"

urlpatterns = [
    # the tablet and who stands before it
    path("pair/", pairing.pair, name="pair"),
    path("", pairing.names, name="names"),
    path("state/", queued.state, name="state"),
    # today's work
    path("<int:person>/", sheet.job_sheet_page, name="job-sheet"),
    path("<int:person>/task/<int:task>/start/", work.start, name="task-start"),
    path("<int:person>/task/<int:task>/tick/", work.tick, name="task-tick"),
    path("<int:person>/task/<int:task>/half-day/", work.half_day, name="task-half-day"),
    path("<int:person>/task/<int:task>/sheet/<int:cut_sheet>/cut/", work.sheet_cut, name="sheet-cut"),
    path("<int:person>/task/<int:task>/stop/", work.stop, name="task-stop"),
    path("<int:person>/task/<int:task>/go-on/", work.go_on, name="task-go-on"),
    path("<int:person>/wait/<int:link>/dry/", work.dry, name="wait-dry"),
    path("<int:person>/wait/<int:link>/not-yet/", work.not_yet, name="wait-not-yet"),
    path("<int:person>/event/<int:event>/undo/", work.undo, name="event-undo"),
    # what a scanned label opens
    path("unit/<int:unit>/", units.unit_page, name="unit"),
    path("<int:person>/sheet/<int:cut_sheet>/", units.sheet_page, name="cut-sheet"),
    # what proves it
    path("<int:person>/task/<int:task>/note/", evidence.note, name="task-note"),
    path("<int:person>/task/<int:task>/photo/", evidence.photo, name="task-photo"),
    path("<int:person>/task/<int:task>/snag/", evidence.snag, name="task-snag"),
    path("<int:person>/task/<int:task>/paper/", evidence.paper, name="task-paper"),
    path("photo/<uuid:uuid>/<photo_size:size>/", evidence.photo_file, name="photo"),
    # one van: snags, photos by place, what is fitted
    path("<int:person>/van/<int:build>/", van.page, name="van"),
    path("<int:person>/van/<int:build>/snag/", van.snag, name="van-snag"),
    path("<int:person>/van/<int:build>/snag/<int:snag>/put-right/", van.put_right, name="snag-put-right"),
    path("<int:person>/van/<int:build>/photo/", van.photo, name="van-photo"),
    path("<int:person>/van/<int:build>/installation/<int:installation>/paper/", van.paper, name="paper-file"),
    path("paper/<uuid:uuid>/", van.paper_file, name="paper"),
    # checks
    path("<int:person>/check/<int:check>/", checks.page, name="hold-point"),
    path("<int:person>/check/<int:check>/judge/", checks.judge, name="hold-point-judge"),
    path("<int:person>/check/<int:check>/photo/", checks.photo, name="hold-point-photo"),
]
