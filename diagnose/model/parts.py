"""The kinds of part an installation is made of, as an installation file writes them.

Each class is one `kind` of the installation form. The classes hold what is fitted; how a part behaves in a circuit
is the business of `circuit`, and what a missing key means numerically is the business of `rules/tables`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from diagnose.basics.quantities import Span
from diagnose.model.fields import Identifier, Line, Measured, Record

__all__ = ["Battery", "Cable", "Charger", "Fuse", "Load", "Part", "Profile", "chemistries"]

Voltage = Annotated[Span, Measured("voltage", above=0.0)]
VoltageOrNone = Annotated[Span, Measured("voltage", least=0.0)]
Current = Annotated[Span, Measured("current", above=0.0)]
Power = Annotated[Span, Measured("power")]
Resistance = Annotated[Span, Measured("resistance")]
Length = Annotated[Span, Measured("length")]
Area = Annotated[Span, Measured("area")]
Temperature = Annotated[Span, Measured("temperature")]
Capacity = Annotated[Span, Measured("capacity")]
Flag = Annotated[bool, Field(strict=True)]  # `on` and `yes` are words, not flags
Ends = tuple[Identifier, Identifier]
chemistries = ("flooded", "agm", "gel", "calcium", "lfp")


class Named(Record):
    """What every part may carry: a name for people."""

    name: Line | None = None


class Battery(Named):
    """A 12 V battery."""

    kind: Literal["battery"]
    pos: Identifier
    neg: Identifier
    chemistry: Literal["flooded", "agm", "gel", "calcium", "lfp"]
    capacity: Capacity
    protection: Flag = False
    max_charge: Voltage | None = None
    temperature: Temperature | None = None
    cranking_amps: Current | None = None


class Alternator(Named):
    """An engine-driven source with a rectifier."""

    kind: Literal["alternator"]
    pos: Identifier
    neg: Identifier
    regulation: Literal["fixed", "variable"]
    voltage: Voltage | None = None
    rating: Current


class Profile(Record):
    """One charging profile of a charger."""

    name: Line
    voltage: Voltage
    tied_to: Identifier | None = None


class Charger(Named):
    """A DC-DC charger, or a solar-only charger where `input` is left out."""

    kind: Literal["charger"]
    input: Identifier | None = None
    output: Identifier
    negative: Identifier
    ignition: Identifier | None = None
    solar: Identifier | None = None
    rating: Current
    efficiency: Annotated[float, Field(strict=True, gt=0, le=1)] = 0.9
    starts_above: Voltage | None = None
    stops_below: Voltage | None = None
    starts_above_with_ignition: Voltage | None = None
    stops_below_with_ignition: Voltage | None = None
    needs_at_output: VoltageOrNone | None = None
    profile_lead: Identifier | None = None
    profiles: Annotated[tuple[Profile, ...], Field(min_length=1)]
    profile: Line
    full_power_to: Temperature | None = None
    shuts_down_at: Temperature | None = None
    shares_solar: Flag = False
    solar_limit: Voltage | None = None
    lamps: dict[Identifier, dict[Literal["on", "off", "flashing", "cycling"], Line]] | None = None


class Cable(Named):
    """A length of cable with a termination at each end."""

    kind: Literal["cable"]
    ends: Ends
    area: Area
    length: Length
    insulation: Temperature | None = None
    bundled: Annotated[int, Field(strict=True, ge=1, le=100)] = 1
    routed: Identifier | None = None


class Fuse(Named):
    """A fuse in its holder: two contacts and an element."""

    kind: Literal["fuse"]
    ends: Ends
    rating: Current
    style: Literal["blade", "bolted", "cartridge", "resetting"]
    breaks: Current | None = None


class Joint(Named):
    """A switch, one pole of a plug and socket, or a bond between metal parts."""

    kind: Literal["switch", "contact", "bond"]
    ends: Ends
    position: Literal["closed", "open"] = "closed"


class Relay(Named):
    """A relay whose contact joins `ends` while the coil is energised."""

    kind: Literal["relay"]
    coil: Ends
    ends: Ends
    closes_above: Voltage | None = None
    opens_below: Voltage | None = None


class Diode(Named):
    """A diode that carries current from its first end to its second."""

    kind: Literal["diode"]
    ends: Ends
    drop: Voltage | None = None


class Shunt(Named):
    """A measuring resistor."""

    kind: Literal["shunt"]
    ends: Ends
    resistance: Resistance | None = None


class Load(Named):
    """Something that consumes: constant power above a cut-out voltage, or a resistance."""

    kind: Literal["load"]
    pos: Identifier
    neg: Identifier
    power: Power | None = None
    resistance: Resistance | None = None
    cuts_out_below: Voltage | None = None
    always_on: Flag = False


class Starter(Named):
    """The engine's starter motor."""

    kind: Literal["starter"]
    pos: Identifier
    neg: Identifier
    current: Current


class Supply(Named):
    """A mains charger or another regulated source."""

    kind: Literal["supply"]
    pos: Identifier
    neg: Identifier
    voltage: Voltage
    rating: Current


class Panel(Named):
    """A photovoltaic panel."""

    kind: Literal["panel"]
    pos: Identifier
    neg: Identifier
    power: Power
    open_circuit: Voltage
    peak_voltage: Voltage


Part = Annotated[
    Battery | Alternator | Charger | Cable | Fuse | Joint | Relay | Diode | Shunt | Load | Starter | Supply | Panel,
    Field(discriminator="kind"),
]
