"""What is put on edges: iron-on band or solid lipping, and the rolls that band is sold in."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator, model_validator

from nesting.job.fields import Length, MaterialName, Money, YesNo, as_list, one_of
from nesting.job.measured import Record, needed
from nesting.job.outline import Text
from nesting.lengths import MM
from nesting.stock import Roll

LIPPING = 3 * MM
"""No iron-on band is as thick; thinner lipping is not in use (1/8 inch is a little more; common practice)."""
Kind = Annotated[Literal["iron-on", "lipping"], one_of("iron-on", "lipping")]
PartEdge = Annotated[
    Literal["straight", "far", "start", "end"], one_of("straight", "far", "start", "end")
]


class Banding(Record):
    """How thick it is, which of the two, and whether the sheet is cut narrower by it.

    ``kind`` None goes by the thickness. Lipping is always deducted: the sizes given are the finished ones.
    """

    thickness: Length = needed("of the band, like 0.6 mm")
    kind: Kind | None = None
    deduct: YesNo = False

    @field_validator("deduct")
    @classmethod
    def _always(cls, deduct: bool, info: ValidationInfo) -> bool:
        if info.context and info.data.get("kind") == "lipping" and not deduct:
            raise ValueError("must be yes with lipping, which is glued on and planed to size; leave it out")
        return deduct

    @property
    def lipping(self) -> bool:
        """Whether it is solid lipping."""
        return self.thickness >= LIPPING if self.kind is None else self.kind == "lipping"

    @property
    def deducted(self) -> int:
        """By how much the sheet is cut narrower at each edge."""
        return self.thickness if self.deduct or self.lipping else 0


class PartBand(Banding):
    """Of a loose part, by the edges of its standard form."""

    edges: Annotated[tuple[PartEdge, ...], BeforeValidator(as_list)] = needed("like [straight, start]")

    @field_validator("edges")
    @classmethod
    def _each_once(cls, edges: tuple[str, ...]) -> tuple[str, ...]:
        if not edges or len(set(edges)) < len(edges):
            raise ValueError("must be some of straight, far, start and end, each once")
        return edges


class RollEntry(Record):
    """A roll of iron-on band; of any material, width and price if they are left out."""

    length: Length = needed("of the roll, like 25'")
    material: MaterialName | None = None
    width: Length | None = None
    price: Money | None = Field(default=None)

    @model_validator(mode="before")
    @classmethod
    def _alone(cls, value: Any) -> Any:
        return {"length": value} if isinstance(value, Text) else value

    def build(self) -> Roll:
        """As the planner takes it."""
        return Roll(self.length, self.width or 0, self.price, self.material or "")


def priced_alike(rolls: tuple[RollEntry, ...]) -> tuple[RollEntry, ...]:
    """Either every roll has a price or none."""
    if len({roll.price is None for roll in rolls}) > 1:
        raise ValueError("must all have a price, or none of them")
    return rolls
