"""Builds: the list, a new one, one build's pages, its work; and whether the plan is current."""

from django.urls import path

from . import (
    build_back,
    build_check,
    build_facts,
    build_record,
    build_work,
    builds,
    chances,
    plan_state,
    ready,
    snags,
)

routes = [
    path("plan-state/", plan_state.fragment, name="plan-state"),
    path("builds/", builds.listing, name="build-list"),
    path("builds/new/", builds.new, name="build-new"),
    path("builds/new/van-fields/", builds.van_fields, name="van-fields"),
    path("builds/new/unit-row/", builds.unit_row, name="unit-row"),
    path("builds/<int:build>/", builds.page, name="build-page"),
    path("builds/<int:build>/chances/", chances.fragment, name="build-chances"),
    path("builds/<int:build>/ready/", ready.page, name="build-ready"),
    path("builds/<int:build>/agree/", builds.agree, name="build-agree"),
    path("builds/<int:build>/drop/", builds.drop, name="build-drop"),
    path("builds/<int:build>/hand-over/", builds.hand_over, name="build-hand-over"),
    path("builds/<int:build>/back/", build_back.page, name="build-back"),
    # the van, the customer, what goes in, what happened
    path("builds/<int:build>/facts/", build_facts.facts, name="build-facts"),
    path("builds/<int:build>/customer/", build_facts.customer, name="build-customer"),
    path("builds/<int:build>/promise/", build_facts.promise, name="build-promise"),
    path("builds/<int:build>/fitted/", build_facts.fitted, name="build-fitted"),
    path("builds/<int:build>/fitted/unit/", build_facts.unit_add, name="unit-add"),
    path("builds/<int:build>/fitted/unit/<int:unit>/out/", build_facts.unit_out, name="unit-out"),
    path("builds/<int:build>/fitted/installation/", build_facts.installation_add, name="installation-add"),
    path(
        "builds/<int:build>/fitted/installation/<int:installation>/out/",
        build_facts.installation_out,
        name="installation-out",
    ),
    path("builds/<int:build>/record/", build_record.page, name="build-record"),
    path("builds/<int:build>/record/paper/", build_record.file_paper, name="paper-file"),
    path(
        "builds/<int:build>/record/paper/<int:paper>/withdraw/",
        build_record.withdraw_paper,
        name="paper-withdraw",
    ),
    path("paper/<uuid:uuid>/", build_record.paper, name="paper"),
    path("builds/<int:build>/hold-points.pdf", build_check.paper, name="checks-pdf"),
    path("builds/<int:build>/snag/<int:snag>/put-right/", snags.put_right, name="snag-put-right"),
    # its work
    path("builds/<int:build>/work/", build_work.page, name="build-work"),
    path("builds/<int:build>/work/new/", build_work.new, name="task-new"),
    path("builds/<int:build>/work/tick/", build_work.tick_many, name="task-tick-many"),
    path("builds/<int:build>/work/merge/", build_work.merge, name="task-merge"),
    path("builds/<int:build>/work/<int:task>/", build_work.task, name="task"),
    path("builds/<int:build>/work/<int:task>/check/", build_check.page, name="task-check"),
    path("builds/<int:build>/work/<int:task>/check/overrule/", build_check.overrule, name="check-overrule"),
    path("builds/<int:build>/work/<int:task>/check/again/", build_check.again, name="check-again"),
    path(
        "builds/<int:build>/work/<int:task>/check/certificate/",
        build_check.certificate,
        name="check-certificate",
    ),
    path("builds/<int:build>/work/<int:task>/split/", build_work.split, name="task-split"),
    path("builds/<int:build>/work/<int:task>/copy/", build_work.copy, name="task-copy"),
    path("builds/<int:build>/work/<int:task>/remove/", build_work.remove, name="task-remove"),
    path("builds/<int:build>/work/<int:task>/open-again/", build_work.open_again, name="task-open-again"),
    path("builds/<int:build>/work/<int:task>/link/", build_work.link_add, name="task-link"),
    path(
        "builds/<int:build>/work/<int:task>/link/<int:link>/remove/",
        build_work.link_remove,
        name="task-link-remove",
    ),
]
