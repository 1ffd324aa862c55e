"""This week, the wall sheet, moving work, the crew sheet."""

from django.urls import path

from . import better_plan, crew, hours, settling, wall, week, what_if

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
    path("better-plan/", better_plan.page, name="better-plan"),
    path("better-plan/progress/", better_plan.progress, name="better-progress"),
    path("better-plan/look/", better_plan.look, name="better-look"),
    path("better-plan/<int:proposal>/stop/", better_plan.stop, name="better-stop"),
    path("better-plan/<int:proposal>/take/", better_plan.take, name="better-take"),
    path("better-plan/<int:proposal>/leave/", better_plan.leave, name="better-leave"),
    path("what-if/", what_if.page, name="what-if"),
    path("what-if/try/", what_if.try_one, name="what-if-try"),
    path("what-if/leave-out/<int:change>/", what_if.leave_out, name="what-if-leave-out"),
    path("what-if/drop/", what_if.drop, name="what-if-drop"),
    path("what-if/keep/", what_if.keep, name="what-if-keep"),
    path("crew/", crew.page, name="crew"),
    path("crew/hours/", hours.page, name="hours"),
    path("crew/hours/<int:event>/", hours.tick, name="hours-tick"),
    path("crew/drawn/", crew.drawing, name="crew-drawing"),
]
