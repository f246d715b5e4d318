"""Where a dryer's heat ends up, and what the part that stays in the hall does to its heating and cooling."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, ConfigDict, Field

from energy.air._ranges import floats
from energy.errors import ModelError, UnknownNameError
from energy.sources import load
from energy.units import SI, Quantity

Array = NDArray[np.float64]
Place = Literal["hall", "outside"]

DESTINATIONS = ("hall", "outside", "cooling water", "resin")

FIXED: Mapping[str, str] = {
    "resin": "resin",
    "evaporated water": "outside",  # latent: it leaves as humidity and warms nobody
    "outdoor air warmed": "outside",  # up to hall temperature: the hall has none of it, even where the exhaust stays there
    "aftercooler": "cooling water",
    "aftercooler, to hall air": "hall",
    "flue gas": "outside",  # a casing's few per cent are counted with it
    "heater losses": "hall",
    "shell and ducts": "hall",
    "regeneration casing": "hall",
    "leakage air": "hall",
    "radiation missed": "hall",
    "motor and drive losses": "hall",
    "drum drive": "hall",
    "vacuum pump": "hall",
    "controls": "hall",
    "conveying": "hall",
    "metered beyond the model": "hall",  # electricity and fuel that end as heat near the dryer, whatever takes them
    "warm-up": "hall",  # what a start puts into steel and bed cools off into the hall at the next stop
}
"""Terms of the heat balance whose destination no plant can choose."""

CHOSEN: Mapping[str, str] = {
    "exhaust air": "process_exhaust",
    "regeneration exhaust": "regeneration_exhaust",
    "compressor house": "compressor_heat",
}
"""Terms whose destination is the field of :class:`Building` named."""


class HallEffect(NamedTuple):
    """What heat given to the hall, and air blown out of it, change month by month."""

    heating_saved: Array
    """Energy of the heating's carrier that is not bought, shape (..., 12). [J]"""
    cooling_electricity: Array
    """Electricity that cooling the hall takes more, shape (..., 12). [J]"""
    make_up_heating: Array
    """Energy of the heating's carrier that warms the air from outdoors in place of what was blown out, shape (..., 12). [J]"""
    make_up_cooling: Array
    """Electricity that cools and dries that air; below 0 where it is colder than the hall, which it then helps to cool, shape (..., 12). [J]"""


def season(outdoor_temperature: ArrayLike, months: float, *, coldest: bool) -> Array:
    """Share of each month that belongs to a season of a stated length: the coldest months, or the warmest.

    Parameters
    ----------
    outdoor_temperature : array_like, shape (12)
        Monthly means; of equal ones the earlier in the year counts as the colder. [K]
    months : float
        Length of the season, 0 to 12; a part of a month is a part of the last one taken.
    coldest : bool
        The heating season; otherwise the cooling season.

    Returns
    -------
    ndarray, shape (12)
        [-]

    Raises
    ------
    ModelError
        A length below 0 or above 12, or not twelve temperatures.
    """
    t = floats(outdoor_temperature)
    if t.shape != (12,):
        raise ModelError(f"a season needs twelve monthly outdoor temperatures; given is the shape {t.shape}")
    if not 0.0 <= months <= 12.0:
        raise ModelError(f"a season of {months:.3g} months is not possible; write 0 to 12")
    rank = np.empty(12)
    rank[np.argsort(t, kind="stable")] = np.arange(12.0)
    return np.clip(months - (rank if coldest else 11.0 - rank), 0.0, 1.0)


def hall_effect(
    heat_to_hall: ArrayLike,
    heating_share: ArrayLike,
    cooling_share: ArrayLike,
    *,
    usable_share: ArrayLike,
    heating_efficiency: ArrayLike,
    cooling_performance: ArrayLike,
    make_up_heat: ArrayLike = 0.0,
    make_up_damp: ArrayLike = 0.0,
) -> HallEffect:
    r"""What heat given to the hall saves in heating and adds to cooling, and what fresh air takes.

    .. math:: E_{heating} = Q\, s_h\, u / \eta, \quad E_{cooling} = Q\, s_c / COP
    .. math:: E_{heating}^{air} = \max(Q^{air}, 0)\, s_h / \eta, \quad E_{cooling}^{air} = (Q^{damp} - Q^{air})\, s_c / COP

    Parameters
    ----------
    heat_to_hall : array_like, shape (..., 12)
        Sensible heat by month. [J]; a power in W gives powers.
    heating_share, cooling_share : array_like, shape (12)
        Share of each month in which the hall is heated, or cooled; together at most 1. [-]
    usable_share : array_like, shape (...)
        Of the heat, when the hall is heated: comes when and where it is wanted. [-]
    heating_efficiency : array_like, shape (...)
        Heat into the hall over what is bought; of gas on the higher heating value. [-]
    cooling_performance : array_like, shape (...)
        Heat taken from the hall over electricity. [-]
    make_up_heat : array_like, shape (..., 12), optional
        Sensible heat that brings the air from outdoors which replaces what is blown out to the hall's temperature; below
        0 where it comes warmer. [J]
    make_up_damp : array_like, shape (..., 12), optional
        Heat that condenses from the same air what it has more of water than the hall. [J]

    Returns
    -------
    HallEffect

    Raises
    ------
    ModelError
        A month that is heated and cooled at once.

    Notes
    -----
    Not more can be saved than the hall's heating takes: the caller sees to it where that is known. All that warms fresh
    air is bought in heated months: cold air comes whenever the exhaust leaves, so no usable share applies.

    Source
    ------
    Heat balance of the hall.
    """
    heated, cooled = floats(heating_share), floats(cooling_share)
    if np.any(heated + cooled > 1.0 + 1e-12):
        raise ModelError(
            "the heating and the cooling season of the hall overlap; together they may fill each month at most once"
        )
    q = floats(heat_to_hall)
    air = floats(make_up_heat)
    efficiency, performance = floats(heating_efficiency)[..., None], floats(cooling_performance)[..., None]
    return HallEffect(
        q * heated * floats(usable_share)[..., None] / efficiency,
        q * cooled / performance,
        np.maximum(air, 0.0) * heated / efficiency,
        (floats(make_up_damp) - air) * cooled / performance,
    )


def _typical(key: str) -> Any:
    """Default from data/building.toml, read when it is needed."""

    def read() -> Any:
        stored = load("building")[key].si
        return SI(stored) if isinstance(stored, float) else stored

    return Field(default_factory=read)


class Building(BaseModel):
    """The hall around the dryers. What is not given comes from data/building.toml."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    process_exhaust: Place = _typical("process_exhaust")
    regeneration_exhaust: Place = _typical("regeneration_exhaust")
    compressor_heat: Place = _typical("compressor_heat")
    heating_months: Annotated[
        float, Quantity("ratio", label="Months in which the hall is heated"), Field(ge=0, le=12)
    ] = _typical("heating_months")
    heating_carrier: Literal["gas", "electricity"] = _typical("heating_carrier")
    heating_efficiency: Annotated[
        float, Quantity("ratio", label="Heat into the hall over energy bought for heating"), Field(gt=0, le=8)
    ] = _typical("heating_efficiency")
    usable_share: Annotated[
        float, Quantity("share", label="Share of the heat that replaces heating", shown="%"), Field(ge=0, le=1)
    ] = _typical("usable_share")
    cooling_months: Annotated[
        float, Quantity("ratio", label="Months in which the hall is cooled by a chiller"), Field(ge=0, le=12)
    ] = _typical("cooling_months")
    cooling_performance: Annotated[
        float, Quantity("ratio", label="Coefficient of performance of the hall's cooling"), Field(gt=0.5, le=20)
    ] = _typical("cooling_performance")

    def destination(self, term: str) -> str:
        """Where a term of the heat balance ends up: one of ``DESTINATIONS``.

        Raises
        ------
        UnknownNameError
            A term that no dryer's heat balance has.
        """
        if term in CHOSEN:
            return str(getattr(self, CHOSEN[term]))
        if term not in FIXED:
            raise UnknownNameError(
                f"'{term}' is not a known term of a heat balance; known: {', '.join([*FIXED, *CHOSEN])}"
            )
        return FIXED[term]

    def places(self, heat_out: Mapping[str, Array]) -> dict[str, Array]:
        """A heat balance's outgoing side summed by where it ends up; every one of ``DESTINATIONS`` is there."""
        nothing = np.zeros(np.broadcast_shapes(*map(np.shape, heat_out.values())))
        summed: dict[str, Array] = dict.fromkeys(DESTINATIONS, nothing)
        for term, heat in heat_out.items():
            place = self.destination(term)
            summed[place] = np.asarray(summed[place] + heat)
        return summed

    def blown_out(self, hall_air: Mapping[str, Array]) -> Array:
        """Of the air taken from the hall by the term that it leaves with, what ends up outdoors; any unit."""
        out = [air for term, air in hall_air.items() if self.destination(term) == "outside"]
        return np.asarray(sum(out, start=np.zeros(12)))

    def cooled(self, outdoor_temperature: ArrayLike) -> Array:
        """Share of each month in which the hall is cooled, by monthly temperatures outdoors, shape (12). [-]"""
        return season(outdoor_temperature, self.cooling_months, coldest=False)

    def effect(
        self,
        heat_to_hall: ArrayLike,
        outdoor_temperature: ArrayLike,
        make_up_heat: ArrayLike = 0.0,
        make_up_damp: ArrayLike = 0.0,
    ) -> HallEffect:
        """What heat given to the hall by month changes, and what warming, cooling and drying of fresh air takes, [J] and shape (..., 12), by monthly
        temperatures outdoors. [K]

        Raises
        ------
        ModelError
            Seasons that together are longer than the year.
        """
        return hall_effect(
            heat_to_hall,
            season(outdoor_temperature, self.heating_months, coldest=True),
            self.cooled(outdoor_temperature),
            usable_share=self.usable_share,
            heating_efficiency=self.heating_efficiency,
            cooling_performance=self.cooling_performance,
            make_up_heat=make_up_heat,
            make_up_damp=make_up_damp,
        )
