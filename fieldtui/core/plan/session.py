"""What is fixed when a session starts: who, on what, with which meter, along which route."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from fieldtui.core.plan.route import Route
from fieldtui.core.plan.tables import Caution, Criterion, Instrument, Reasons


@dataclass(frozen=True, slots=True)
class Crew:
    """The two at work: one holds the probes, one keys."""

    prober: str
    recorder: str


def measured_at(conductor_c: Decimal | None, ambient_c: Decimal | None) -> Decimal | None:
    """The temperature of what is measured: the conductors' where it was taken, else the air's."""
    return conductor_c if conductor_c is not None else ambient_c


@dataclass(frozen=True, slots=True)
class Session:
    """A session's facts, all snapshots: nothing else is needed to judge its trail."""

    id: str
    program: str  # name and version that started it
    started: datetime  # UTC
    job: str  # job card or order reference
    crew: Crew
    instrument: Instrument
    route: Route
    reasons: Reasons
    cautions: tuple[Caution, ...]
    first_link: str  # where the hash chain begins, 32 hex digits
    ambient_c: Decimal | None = None
    conductor_c: Decimal | None = None  # of what is measured; None where taken to be the air's
    transcribed_from: str = ""  # file name of the paper sheet, empty for a session keyed live
    practice: bool = False
    part: tuple[str, ...] = ()  # sections walked in this session, where others are left to another crew
    elsewhere: Mapping[str, str] = field(default_factory=dict)  # points left to it: title by id
    follows: str = ""  # the session this one carries on from after a failed medium, with its seal
    criteria: Mapping[str, Criterion] = field(default_factory=dict)  # those that the route names, by id
