"""Material: totals over builds, one build's needs, the paper; orders, stock, offcuts."""

from django.urls import path

from . import material, offcuts, order_booking, orders, stock

routes = [
    path("material/", material.page, name="material"),
    path("material/totals.pdf", material.paper, name="material-pdf"),
    path("builds/<int:build>/material/", material.of_build, name="build-material"),
    path("builds/<int:build>/material/need/", material.need_add, name="need-add"),
    path("builds/<int:build>/material/reckon/", material.reckon, name="needs-reckon"),
    path("builds/<int:build>/material/need/<int:need>/", material.need, name="need"),
    path("builds/<int:build>/material/need/<int:need>/remove/", material.need_remove, name="need-remove"),
    path("material/orders/", orders.listing, name="order-list"),
    path("material/orders/make/", orders.make, name="order-make"),
    path("material/orders/begin/", orders.make_empty, name="order-make-empty"),
    path("material/orders/<int:order>/", orders.order, name="order"),
    path("material/orders/<int:order>/line/", orders.line_add, name="order-line-add"),
    path("material/orders/<int:order>/send/", orders.send, name="order-send"),
    path("material/orders/<int:order>/drop/", orders.drop, name="order-drop"),
    path("material/orders/<int:order>/order.pdf", orders.paper, name="order-pdf"),
    path("material/orders/<int:order>/order.csv", orders.file, name="order-csv"),
    path("material/orders/<int:order>/book/", order_booking.book, name="order-book"),
    path("material/orders/<int:order>/shelf/", order_booking.shelve, name="order-shelve"),
    path("material/orders/<int:order>/day/", order_booking.change_day, name="order-day"),
    path(
        "material/orders/<int:order>/bookings/<int:receipt>/take-back/",
        order_booking.take_back,
        name="order-take-back",
    ),
    path("material/stock/", stock.listing, name="stock"),
    path("material/stock/choose/", stock.choose, name="stock-choose"),
    path("material/stock/<int:material>/", stock.of_material, name="stock-of"),
    path("material/stock/<int:material>/count/", stock.count, name="stock-count"),
    path("material/stock/<int:material>/take/", stock.take, name="stock-take"),
    path("material/stock/<int:material>/back/", stock.put_back, name="stock-back"),
    path("material/offcuts/", offcuts.listing, name="offcut-list"),
    path("material/offcuts/<int:offcut>/", offcuts.offcut, name="offcut"),
    path("material/offcuts/<int:offcut>/correct/", offcuts.correct, name="offcut-correct"),
    path("material/offcuts/<int:offcut>/use/", offcuts.use, name="offcut-use"),
    path("material/offcuts/<int:offcut>/throw-out/", offcuts.throw_out, name="offcut-throw-out"),
    path("material/offcuts/<int:offcut>/bring-back/", offcuts.bring_back, name="offcut-bring-back"),
]
