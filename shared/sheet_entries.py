"""The entries of a job sheet: readings, fasteners, parts, consumables, photos, steps, cautions.

Limits are :class:`decimal.Decimal` in the unit of their item; spoken forms are lower case, words
parted by one space.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from shared.units import KIND_OF_UNIT, Kind, Unit, decimals_of_number

Stage = Literal["as_found", "as_left", "either"]
Policy = Literal["renew", "inspect", "reuse"]


def as_list(value: Any) -> Any:
    """Let a sheet write one thing where a list is meant, and nothing for an empty one."""
    if value is None:
        return []
    return [value] if isinstance(value, str) else value


def _name(value: str) -> str:
    if not value or not all(c.isalnum() or c == "_" for c in value) or value != value.lower():
        raise ValueError("expected snake_case: lower-case letters, digits and underscores")
    return value


def _spoken(value: str) -> str:
    words = " ".join(value.lower().replace("-", " ").split())
    if not words:
        raise ValueError("expected at least one word")
    return words


Name = Annotated[str, AfterValidator(_name)]
Spoken = Annotated[str, AfterValidator(_spoken)]
SpokenForms = Annotated[list[Spoken], BeforeValidator(as_list)]
Number = Annotated[Decimal, Field(allow_inf_nan=False, max_digits=30)]


class SheetEntry(BaseModel):
    """Base of everything on a sheet: no unknown fields, null is absent, never changed after loading."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _null_means_absent(cls, data: Any) -> Any:
        if isinstance(data, dict):
            return {key: value for key, value in data.items() if value is not None}
        return data


def words_of(name: str) -> str:
    """Return a name in words: ``back_plate`` is called "back plate"."""
    return name.replace("_", " ")


class Limits(SheetEntry):
    """A number's nominal and limits, each in ``unit``; None is no limit."""

    unit: Unit
    nominal: Number | None = None
    lower: Number | None = None
    upper: Number | None = None
    #: Outside of it a value is asked about, never silently kept.
    plausible: tuple[Number, Number] | None = None
    #: Expanded, k = 2.
    uncertainty: Annotated[Number, Field(ge=0)] | None = None
    gauge: str | None = None
    positions: Annotated[list[str], BeforeValidator(as_list)] = []
    stage: Stage = "either"
    required: bool = False

    @property
    def decimals(self) -> int:
        """How many decimals the sheet writes, the most of nominal and limits."""
        written = [v for v in (self.nominal, self.lower, self.upper) if v is not None]
        return max((decimals_of_number(v) for v in written), default=0)

    @model_validator(mode="after")
    def _limits_in_order(self) -> Limits:
        _check_order("lower", self.lower, "upper", self.upper)
        _check_order("lower", self.lower, "nominal", self.nominal)
        _check_order("nominal", self.nominal, "upper", self.upper)
        if self.plausible is not None:
            least, most = self.plausible
            _check_order("plausible from", least, "plausible to", most)
        if len(set(self.positions)) != len(self.positions):
            raise ValueError("a position stands twice")
        return self


def _check_order(low_name: str, low: Decimal | None, high_name: str, high: Decimal | None) -> None:
    if low is not None and high is not None and low > high:
        raise ValueError(f"{low_name} {low} is above {high_name} {high}")


class Reading(Limits):
    """One thing to be measured."""

    item: Name
    say: SpokenForms = []
    kind: Kind | None = None

    @model_validator(mode="after")
    def _kind_fits_unit(self) -> Reading:
        natural = KIND_OF_UNIT[self.unit]
        if self.kind is not None and natural is not None and self.kind != natural:
            raise ValueError(f"kind {self.kind} does not go with unit {self.unit} ({natural})")
        return self

    @property
    def measured_kind(self) -> str | None:
        """What the item measures: as written, else from its unit (a percentage: None)."""
        return self.kind or KIND_OF_UNIT[self.unit]

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.item),)


class Fastener(Limits):
    """One fastener's torque. A torque is set when building up: ``stage`` is as left by default."""

    item: Name
    part: Name | None = None
    say: SpokenForms = []
    thread: str | None = None
    grade: str | None = None
    lubricant: str | None = None
    stage: Stage = "as_left"

    @model_validator(mode="after")
    def _unit_is_torque(self) -> Fastener:
        if KIND_OF_UNIT[self.unit] != "torque":
            raise ValueError(f"unit {self.unit} is no torque; expected ft_lb, in_lb or N_m")
        return self

    @property
    def measured_kind(self) -> str:
        """Always torque."""
        return "torque"

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.item),)


class Part(SheetEntry):
    """A part, what the shop does with it, and which others a decision on it covers."""

    part: Name
    say: SpokenForms = []
    policy: Policy = "inspect"
    stock_number: str | None = None
    quantity: Annotated[int, Field(ge=1)] = 1
    decide: bool = True
    components: Annotated[list[Name], BeforeValidator(as_list)] = []

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.part),)


class Consumable(SheetEntry):
    """A consumable and the parts that it goes on."""

    name: Name
    say: SpokenForms = []
    for_: Annotated[list[Name], BeforeValidator(as_list), Field(alias="for")] = []
    stock_number: str | None = None

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.name),)


class WantedPhoto(SheetEntry):
    """A photo that the sheet asks for."""

    of: Name
    say: SpokenForms = []
    stage: Stage = "either"
    required: bool = False
    outer_diameter_mm: Annotated[Number, Field(gt=0)] | None = None

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.of),)


class Step(SheetEntry):
    """Something to be done and said; ``hold`` waits for a witness."""

    step: Name
    say: SpokenForms = []
    required: bool = False
    hold: bool = False

    @property
    def spoken(self) -> tuple[str, ...]:
        """What it is called aloud."""
        return tuple(self.say) or (words_of(self.step),)


class Caution(SheetEntry):
    """A warning and the words that bring it up; without words it stands from the start."""

    when: SpokenForms = []
    text: str


class BareUnits(SheetEntry):
    """What a bare number means, per kind."""

    length: Unit | None = None
    torque: Unit | None = None
    pressure: Unit | None = None
    temperature: Unit | None = None
    speed: Unit | None = None
    vibration: Unit | None = None
    mass: Unit | None = None
    count: Unit | None = None
    time: Unit | None = None

    @model_validator(mode="after")
    def _units_fit_kinds(self) -> BareUnits:
        for kind, unit in self:
            if unit is not None and KIND_OF_UNIT[unit] != kind:
                raise ValueError(f"{unit} is no unit of {kind}")
        return self
