"""What cooling costs beside the heat it takes: fans, pumps, a chiller's compressor, and make-up water."""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, ConfigDict, Field

from energy.air import moist, water_vapour
from energy.air._ranges import floats
from energy.air.constants import LIQUID_WATER_HEAT_CAPACITY, ZERO_CELSIUS
from energy.air.wet_bulb import wet_bulb_temperature
from energy.errors import ModelError
from energy.remembered import remembered
from energy.sources import load
from energy.units import SI, Quantity, show

Array = NDArray[np.float64]

WATER_DENSITY = 1000.0  # kg/m3, of make-up water as a meter counts it


def pump_share(
    pressure: ArrayLike, efficiency: ArrayLike, temperature_rise: ArrayLike, *, density: float, heat_capacity: float
) -> Array:
    r"""Electricity that moves a coolant, per heat it carries; the same for a pump in water and a fan in air.

    .. math:: \frac{P}{\dot Q} = \frac{\Delta p}{\eta \rho c \Delta T}

    Parameters
    ----------
    pressure : array_like, shape (...)
        Pressure rise. [Pa]
    efficiency : array_like, shape (...)
        Of pump or fan with motor. [-]
    temperature_rise : array_like, shape (...)
        How much the coolant is warmed. [K]
    density, heat_capacity : float
        Of the coolant. [kg/m3], [J/(kg K)]

    Returns
    -------
    ndarray, shape (...)
        [-]

    Source
    ------
    Power of an incompressible flow over the heat that it carries.
    """
    carried = floats(efficiency) * density * heat_capacity * floats(temperature_rise)
    return floats(pressure) / carried


def evaporated_water(heat: ArrayLike, evaporated_share: ArrayLike, water_temperature: ArrayLike) -> Array:
    r"""Water that a cooling tower evaporates to be rid of a heat.

    .. math:: \dot V = \frac{s \dot Q}{\rho\, r(T)}, \quad r = h_{vapour} - h_{liquid}

    Parameters
    ----------
    heat : array_like, shape (...)
        Rejected by the tower. [W]
    evaporated_share : array_like, shape (...)
        Share of it that leaves as vapour, the rest as warmer air. [-]
    water_temperature : array_like, shape (...)
        [K]

    Returns
    -------
    ndarray, shape (...)
        [m3/s]

    Source
    ------
    Heat balance; latent heat from the enthalpies of ``energy.air.moist``.
    """
    t = floats(water_temperature)
    latent = moist.vapour_enthalpy(t) - LIQUID_WATER_HEAT_CAPACITY * (t - ZERO_CELSIUS)
    return floats(evaporated_share) * floats(heat) / (latent * WATER_DENSITY)


def make_up_water(evaporated: ArrayLike, cycles: ArrayLike) -> Array:
    r"""Water fed to a tower: what evaporates and what is blown down to hold the salts.

    .. math:: \dot V = \dot V_{evaporated} \frac{C}{C - 1}

    Parameters
    ----------
    evaporated : array_like, shape (...)
        [m3/s]
    cycles : array_like, shape (...)
        Cycles of concentration: salts in the blow-down over those in the feed, above 1. [-]

    Returns
    -------
    ndarray, shape (...)
        [m3/s]

    Notes
    -----
    Drift is left out: good eliminators let a few thousandths of a per cent of the water pass.

    Source
    ------
    Balance of water and salts.
    """
    c = floats(cycles)
    return floats(evaporated) * c / (c - 1.0)


@remembered(8)  # the outdoor air is one for all options and states
def tower_water_temperature(
    outdoor_temperature: ArrayLike,
    outdoor_dew_point: ArrayLike,
    pressure: ArrayLike,
    approach: ArrayLike,
    coldest: ArrayLike,
) -> Array:
    """Water that a cooling tower gives: the wet bulb outdoors and the approach, in cold weather held at a temperature.

    Parameters
    ----------
    outdoor_temperature, outdoor_dew_point : array_like, shape (...)
        Frost point below freezing. [K]
    pressure : array_like, shape (...)
        Atmospheric. [Pa]
    approach : array_like, shape (...)
        Of the water to the wet bulb. [K]
    coldest : array_like, shape (...)
        What a stopped fan or a bypass holds. [K]

    Returns
    -------
    ndarray, shape (...)
        [K]
    """
    t, p = floats(outdoor_temperature), floats(pressure)
    w = water_vapour.humidity_ratio(outdoor_dew_point, p)
    # Air that would freeze its wet bulb is counted as freezing: below that the water is held warmer anyway.
    at_freezing = moist.enthalpy(ZERO_CELSIUS, water_vapour.humidity_ratio(ZERO_CELSIUS, p))
    frozen = moist.enthalpy(t, w) <= at_freezing + 1.0
    wet_bulb = wet_bulb_temperature(np.where(frozen, 293.15, t), np.where(frozen, 0.007, w), p)
    return np.maximum(np.where(frozen, ZERO_CELSIUS, wet_bulb) + floats(approach), coldest)


def carnot_coefficient(cold: ArrayLike, hot: ArrayLike) -> Array:
    r"""Heat that a loss-free refrigerator takes per work: :math:`T_c / (T_h - T_c)`.

    Parameters
    ----------
    cold, hot : array_like, shape (...)
        Temperatures between which it works. [K]

    Returns
    -------
    ndarray, shape (...)
        [-]

    Raises
    ------
    ModelError
        Nothing to lift: the hot side is not above the cold one.

    Source
    ------
    Carnot.
    """
    c, h = floats(cold), floats(hot)
    if np.any(h <= c):
        condenser, water = (show(float(np.ravel(t)[0]), "temperature", "si") for t in (h, c))
        raise ModelError(
            f"a chiller's condenser at {condenser} is not above its chilled water at {water}; "
            "colder chilled water or a warmer condenser is needed"
        )
    return c / (h - c)


class Demand(NamedTuple):
    """What cooling takes beside the heat."""

    electricity: Array
    """[W]"""
    water: Array
    """Make-up. [m3/s]"""


def _typical(key: str) -> Any:
    """Default from data/cooling.toml, read when it is needed."""

    def read() -> Any:
        stored = load("cooling")[key].si
        return SI(stored) if isinstance(stored, float) else stored

    return Field(default_factory=read)


class CoolingPlant(BaseModel):
    """The plant's cooling as the dryer's aftercooler meets it. What is not given comes from data/cooling.toml."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    medium: Literal["tower water", "chilled water", "hall air"] = _typical("medium")
    tower_approach: Annotated[
        float,
        Quantity("temperature difference", label="Tower water over the wet bulb", shown="K"),
        Field(ge=1, le=20),
    ] = _typical("tower_approach")
    coldest_tower_water: Annotated[
        float, Quantity("temperature", label="Coldest tower water held", shown="degC"), Field(ge=274.15, le=308.15)
    ] = _typical("coldest_tower_water")
    tower_fan_share: Annotated[
        float, Quantity("share", label="Tower fan electricity per heat", shown="%"), Field(ge=0, le=0.2)
    ] = _typical("tower_fan_share")
    pump_share: Annotated[
        float, Quantity("share", label="Pump electricity of a water circuit per heat", shown="%"), Field(ge=0, le=0.3)
    ] = _typical("pump_share")
    evaporated_share: Annotated[
        float, Quantity("share", label="Share of the tower's heat that leaves as vapour", shown="%"), Field(ge=0, le=1)
    ] = _typical("evaporated_share")
    cycles: Annotated[float, Quantity("ratio", label="Cycles of concentration of the tower"), Field(gt=1, le=50)] = (
        _typical("cycles")
    )
    chilled_water_temperature: Annotated[
        float, Quantity("temperature", label="Chilled water supplied", shown="degC"), Field(ge=274.15, le=298.15)
    ] = _typical("chilled_water_temperature")
    coefficient_of_performance: Annotated[
        float | None, Quantity("ratio", label="Chiller's coefficient of performance"), Field(gt=0.5, le=20)
    ] = None
    """None: ``carnot_share`` of a loss-free chiller's between chilled water and condenser. [-]"""
    carnot_share: Annotated[
        float, Quantity("share", label="Chiller's performance over a loss-free one's", shown="%"), Field(gt=0, le=0.8)
    ] = _typical("carnot_share")
    condenser: Literal["tower", "outdoor air"] = _typical("condenser")
    tower_condenser_approach: Annotated[
        float,
        Quantity("temperature difference", label="Condensing temperature over tower water", shown="K"),
        Field(ge=2, le=30),
    ] = _typical("tower_condenser_approach")
    air_condenser_approach: Annotated[
        float,
        Quantity("temperature difference", label="Condensing temperature over outdoor air", shown="K"),
        Field(ge=4, le=40),
    ] = _typical("air_condenser_approach")
    coldest_condenser: Annotated[
        float, Quantity("temperature", label="Lowest condensing temperature", shown="degC"), Field(ge=283.15, le=318.15)
    ] = _typical("coldest_condenser")
    hall_fan_share: Annotated[
        float, Quantity("share", label="Fan electricity of a hall-air cooler per heat", shown="%"), Field(ge=0, le=0.5)
    ] = _typical("hall_fan_share")

    def coolant_temperature(
        self,
        outdoor_temperature: ArrayLike,
        outdoor_dew_point: ArrayLike,
        pressure: ArrayLike,
        hall_temperature: ArrayLike,
    ) -> Array:
        """What comes to the cooler, which adds its own approach: water, or the hall's air; shape (...). [K]"""
        shape = np.broadcast_shapes(
            *map(np.shape, (outdoor_temperature, outdoor_dew_point, pressure, hall_temperature))
        )
        if self.medium == "hall air":
            return floats(hall_temperature) + np.zeros(shape)
        if self.medium == "chilled water":
            return np.full(shape, float(self.chilled_water_temperature))
        return self._tower_water(outdoor_temperature, outdoor_dew_point, pressure) + np.zeros(shape)

    def chiller_performance(
        self, outdoor_temperature: ArrayLike, outdoor_dew_point: ArrayLike, pressure: ArrayLike
    ) -> Array:
        """Heat taken from the chilled water per electricity of the chiller; shape (...). [-]

        Raises
        ------
        ModelError
            The condenser is not above the chilled water.
        """
        if self.coefficient_of_performance is not None:
            return floats(self.coefficient_of_performance)
        if self.condenser == "tower":
            hot = self._tower_water(outdoor_temperature, outdoor_dew_point, pressure) + self.tower_condenser_approach
        else:
            hot = floats(outdoor_temperature) + self.air_condenser_approach
        hot = np.maximum(hot, self.coldest_condenser)
        return self.carnot_share * carnot_coefficient(self.chilled_water_temperature, hot)

    def demand(
        self,
        heat: ArrayLike,
        outdoor_temperature: ArrayLike,
        outdoor_dew_point: ArrayLike,
        pressure: ArrayLike,
    ) -> Demand:
        """Electricity and water that a heat takes; arrays broadcast.

        Parameters
        ----------
        heat : array_like, shape (...)
            Handed to the coolant. [W]; a heat in J gives J and m3.
        outdoor_temperature, outdoor_dew_point : array_like, shape (...)
            [K]
        pressure : array_like, shape (...)
            Atmospheric. [Pa]

        Returns
        -------
        Demand

        Raises
        ------
        ModelError
            A chiller's condenser is not above its chilled water.

        Notes
        -----
        What pumps take ends in the water and is counted whole as heat that the tower or the chiller has to take too.
        A chiller's performance includes the fans of a condenser in outdoor air. Hall air keeps the heat in the hall.
        """
        q = floats(heat)
        if self.medium == "hall air":
            return Demand(q * self.hall_fan_share, 0.0 * q)
        pump = q * self.pump_share
        if self.medium == "tower water":
            tower = self._tower(q + pump, outdoor_temperature, outdoor_dew_point, pressure)
            return Demand(pump + tower.electricity, tower.water)
        compressor = (q + pump) / self.chiller_performance(outdoor_temperature, outdoor_dew_point, pressure)
        if self.condenser == "outdoor air":
            return Demand(pump + compressor, 0.0 * compressor)
        condensed = q + pump + compressor
        second = condensed * self.pump_share
        tower = self._tower(condensed + second, outdoor_temperature, outdoor_dew_point, pressure)
        return Demand(pump + compressor + second + tower.electricity, tower.water)

    def _tower_water(self, outdoor_temperature: ArrayLike, outdoor_dew_point: ArrayLike, pressure: ArrayLike) -> Array:
        return tower_water_temperature(
            outdoor_temperature, outdoor_dew_point, pressure, self.tower_approach, self.coldest_tower_water
        )

    def _tower(
        self, heat: Array, outdoor_temperature: ArrayLike, outdoor_dew_point: ArrayLike, pressure: ArrayLike
    ) -> Demand:
        water = self._tower_water(outdoor_temperature, outdoor_dew_point, pressure)
        evaporated = evaporated_water(heat, self.evaporated_share, water)
        return Demand(heat * self.tower_fan_share, make_up_water(evaporated, self.cycles))
