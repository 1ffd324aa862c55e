"""Cutting: plans over builds, one build's boards, one sheet; the papers for the saw."""

from django.urls import path

from . import cutting, cutting_lengths, cutting_papers

routes = [
    path("material/cutting/", cutting.page, name="cutting"),
    path("material/cutting/together/", cutting.together, name="cutting-together"),
    path("material/cutting/saw/", cutting.saw, name="cutting-saw"),
    path("material/cutting/plan/<int:plan>/", cutting.plan_page, name="cutting-plan"),
    path("material/cutting/plan/<int:plan>/better/", cutting.better, name="cutting-better"),
    path("material/cutting/plan/<int:plan>/stop/", cutting.stop, name="cutting-stop"),
    path("material/cutting/plan/<int:plan>/how-far/", cutting.how_far, name="cutting-how-far"),
    path("material/cutting/plan/<int:plan>/sheets.pdf", cutting_papers.plan_sheets, name="cutting-plan-pdf"),
    path("material/cutting/sheet/<int:cut_sheet>/", cutting.sheet_page, name="cut-sheet"),
    path("builds/<int:build>/cutting/", cutting.of_build, name="build-cutting"),
    path("builds/<int:build>/cutting/lay-out/", cutting.lay_out_build, name="build-lay-out"),
    path("builds/<int:build>/cutting/lengths/", cutting_lengths.page, name="build-lengths"),
    path("builds/<int:build>/cutting/lengths/run/", cutting_lengths.run_add, name="run-add"),
    path("builds/<int:build>/cutting/lengths/run/<int:run>/off/", cutting_lengths.run_remove, name="run-off"),
    path("builds/<int:build>/cutting/sheets.pdf", cutting_papers.build_sheets, name="cutting-pdf"),
    path("builds/<int:build>/cutting/labels.pdf", cutting_papers.build_labels, name="labels-pdf"),
]
