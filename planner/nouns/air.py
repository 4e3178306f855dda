"""The nouns of the room's air: assumed, read, and what makes it. °C, percent, kg of water."""

from dataclasses import dataclass
from datetime import datetime, time

import numpy as np
from numpy.typing import NDArray

from planner.nouns.product import SHUT_ROOM_PER_H, Air


@dataclass(frozen=True, slots=True, kw_only=True)
class DayNight:
    """Assumed air: one value by day, one by night; equal values mean constant air."""

    day_c: float
    day_rh_pct: float
    night_c: float
    night_rh_pct: float
    day_from: time
    day_to: time


@dataclass(frozen=True, slots=True, kw_only=True)
class AirReading:
    """Temperature and relative humidity at an instant."""

    when: datetime
    air_c: float
    humidity_pct: float


Clock = tuple[tuple[time, time], ...]  # hours of the day, local; none: all day


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermostat:
    """Heating up to a temperature, or cooling down to one, in its hours."""

    heat_to_c: float | None = None
    cool_to_c: float | None = None
    hours: Clock = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilation:
    """Outside air let in: so many times the room's own volume in an hour."""

    air_changes_per_h: float
    hours: Clock = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Dehumidifier:
    """A machine that takes `rated_l_per_day` out of air at its rating.

    It runs while the room is damper than its set point. A `compressor` weakens in
    the cold; a machine that dries by adsorption doesn't.
    """

    rated_l_per_day: float
    rated_c: float = 26.7  # 80 °F and 60 %, the rating of ANSI/AHAM DH-1
    rated_rh_pct: float = 60.0
    set_rh_pct: float = 50.0
    hours: Clock = ()
    compressor: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """What makes the room's air out of the outside air.

    Air leaks in all day at `leak_per_h` (air changes), whatever is opened. Without
    heating the room follows the outside with a lag of `lag_h`; 0 means at once.
    """

    volume_m3: float
    leak_per_h: float = SHUT_ROOM_PER_H
    lag_h: float = 24.0  # an ordinary heated building, from memory
    thermostats: tuple[Thermostat, ...] = ()
    ventilation: tuple[Ventilation, ...] = ()
    dehumidifiers: tuple[Dehumidifier, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a room without air in it and flows that run backwards."""
        for name, value, low in (
            ("volume_m3", self.volume_m3, 1e-6),
            ("leak_per_h", self.leak_per_h, 0.0),
            ("lag_h", self.lag_h, 0.0),
            *(
                ("air_changes_per_h", v.air_changes_per_h, 0.0)
                for v in self.ventilation
            ),
            *(("rated_l_per_day", d.rated_l_per_day, 0.0) for d in self.dehumidifiers),
        ):
            if value < low:
                raise ValueError(f"{name}: {value} is less than {low:g}")


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class RoomAir:
    """The room's air and where its water came from and went, each tick. [kg]."""

    air: Air
    given_off_kg: NDArray[np.float64]  # by the wet work
    let_in_kg: NDArray[np.float64]  # by leaks and ventilation; less than 0: let out
    dried_kg: NDArray[np.float64]  # by dehumidifiers
    condensed_kg: NDArray[np.float64]  # on whatever is cold
