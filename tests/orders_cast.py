"""A supplier, a few materials and two vans that need them, for the tests of orders."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from builds.actions import materials
from builds.actions.needs import add_need
from builds.actions.planning import replan
from builds.models import Build, Material, Shop, Task
from tests import cast
from tests.cast import NOW


class Yard:
    """Quay Coatings sells primer in tins of 2.5 l and discs in packs of 50, a week after it is asked."""

    def __init__(self, owner) -> None:
        self.owner = owner
        self.supplier = materials.add_supplier(
            name="Quay Coatings", lead_days=7, minimum_order=Decimal(100), now=NOW, by=owner
        )
        self.primer = self.material("Primer", form="liquid", unit="litre", pack="2.5", price="38.50")
        self.discs = self.material("Discs", pack="50", price="14.80")
        self.heron = self.van("Heron")
        self.teal = self.van("Teal", arrives_on=date(2027, 4, 5))

    def material(self, name: str, *, pack: str, price: str, **more) -> Material:
        return materials.add_material(
            name=name,
            pack=Decimal(pack),
            price=Decimal(price),
            supplier=self.supplier,
            now=NOW,
            by=self.owner,
            **more,
        )

    def van(self, name: str, **more) -> Build:
        build = cast.make_build(name, **more)
        cast.make_task(build, "prime")
        return build

    def task_of(self, build: Build) -> Task:
        return build.tasks.get(key="prime")

    def needs(self, build: Build, material: Material, quantity: str, **more):
        return add_need(
            build=build,
            material=material,
            quantity=quantity,
            task=self.task_of(build),
            now=NOW,
            by=self.owner,
            **more,
        )

    def plan(self) -> None:
        Shop.objects.filter(pk=1).update(revision=Shop.objects.get().revision + 1)
        replan(now=NOW)


PAPER = ("<p>the order", b"%PDF-made-up")
