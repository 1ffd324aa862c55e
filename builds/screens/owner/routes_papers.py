"""Friday sheets, private links, photos, job sheets."""

from django.urls import path

from builds.screens import photo_sizes  # noqa: F401  registers <photo_size:...>

from . import papers

routes = [
    path("builds/<int:build>/papers/", papers.page, name="build-papers"),
    path("builds/<int:build>/papers/draft/", papers.draft, name="sheet-draft"),
    path("builds/<int:build>/papers/sheet/<int:sheet>/", papers.sheet_page, name="sheet"),
    path("builds/<int:build>/papers/sheet/<int:sheet>/redraft/", papers.redraft, name="sheet-redraft"),
    path("builds/<int:build>/papers/sheet/<int:sheet>.pdf", papers.sheet_pdf, name="sheet-pdf"),
    path("builds/<int:build>/papers/link/", papers.link_make, name="link-make"),
    path("builds/<int:build>/papers/link/<int:link>/withdraw/", papers.link_withdraw, name="link-withdraw"),
    path("photo/<uuid:uuid>/<photo_size:size>/", papers.photo, name="photo"),
    path("job-sheet/<int:person>/<str:monday>.pdf", papers.job_sheet_pdf, name="job-sheet"),
]
