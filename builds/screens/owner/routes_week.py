"""This week, the wall sheet, moving work, the crew sheet."""

from django.urls import path

from . import crew, hours, settling, wall, week

routes = [
    path("", week.page, name="week"),
    path("tell/", week.tell, name="tell"),
    path("builds/<int:build>/aim/", week.aim, name="aim"),
    path("settle/", settling.page, name="settle-list"),
    path("settle/<int:event>/", settling.word, name="settle"),
    path("wall/", wall.page, name="wall"),
    path("wall/move/", wall.move, name="move"),
    path("wall/move/keep/", wall.keep, name="move-keep"),
    path("wall/move/back/", wall.back, name="move-back"),
    path("wall/move/lift/", wall.lift, name="move-lift"),
    path("crew/", crew.page, name="crew"),
    path("crew/hours/", hours.page, name="hours"),
    path("crew/hours/<int:event>/", hours.tick, name="hours-tick"),
    path("crew/drawn/", crew.drawing, name="crew-drawing"),
]
