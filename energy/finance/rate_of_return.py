"""Internal rate of return: how many rates there are, and which it is if there is just one.

Everything is computed on the net present value as a polynomial in x = 1/(1 + rate): every rate above -100 %
is one positive root.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from energy.finance.factors import Array, Timing, is_mid

_BLOCK = 2048  # flows per block: the temporaries of one block stay in the cache
_FEW = 4096  # amounts of so many flows that the number of calls decides how long it takes
_TOUCH = 1e-12  # a net present value below this share of the amounts is zero; also the smallest sure sign
_VANISHING = 1e-15  # where signs change several times, less than this share of the largest is a rest of rounding


def irr(flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> tuple[Array, NDArray[np.int64]]:
    r"""Internal rate of return and the number of rates at which the net present value is zero.

    .. math:: \sum_t flow_t / (1 + rate)^t = 0, \quad rate > -1

    Parameters
    ----------
    flows : array_like, shape (..., n + 1)
        Net cash flow of years 0 to n, outlays negative. [money]
    timing, at_year_end
        As for `npv`, whose value the rate brings to zero.

    Returns
    -------
    rate : ndarray, shape (...)
        The rate, NaN unless there is exactly one; `irr_note` says why. [1/year]
    root_count : ndarray of int, shape (...)
        How many different rates there are. A rate at which the net present value touches zero without
        crossing it counts once; so do rates closer together than 0.01 %.

    Notes
    -----
    No change of sign in the flows: no rate. One: exactly one rate (Descartes' rule of signs), found by Newton
    steps on the logarithm of (amounts received / amounts paid), kept inside a bracket. Several: amounts below
    1e-15 of the largest, which sums leave that round, are left out, and the rule is applied again to the rates
    above and below zero; if that does not settle the number, all roots come from the eigenvalues of the
    companion matrix. Flows holding a NaN or an infinite amount have no rate.

    Source
    ------
    Rule of signs and its form for an interval (Budan; Vincent): textbook algebra. Why only a single rate may
    be used to judge a project: ASTM E1057, scope.
    """
    flows = np.asarray(flows, dtype=float)
    if is_mid(timing):
        per_half_year, counts = irr(_half_years(flows, at_year_end))
        return _yearly(per_half_year), counts
    rows = flows.reshape(-1, flows.shape[-1])
    rate = np.full(len(rows), np.nan)
    count = np.zeros(len(rows), dtype=np.int64)
    for start in range(0, len(rows), _BLOCK):
        block = slice(start, start + _BLOCK)
        rate[block], count[block] = _irr_block(rows[block])
    return rate.reshape(flows.shape[:-1]), count.reshape(flows.shape[:-1])


def all_rates(flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> Array:
    """Every rate above -100 % at which the net present value of one flow is zero, ascending.

    Parameters
    ----------
    flows : array_like, shape (n + 1,)
        Net cash flow of years 0 to n. [money]
    timing, at_year_end
        As for `npv`.

    Returns
    -------
    ndarray, shape (number of rates,)
        The rates; empty when there is none. [1/year]
    """
    flows = _one(flows)
    if is_mid(timing):
        return _yearly(all_rates(_half_years(flows, at_year_end)))
    return _rates(flows[None], *irr(flows[None]))[0]


def irr_note(flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> str:
    """What has to be said beside the internal rate of return of one flow, in plain words.

    Parameters
    ----------
    flows : array_like, shape (n + 1,)
        Net cash flow of years 0 to n. [money]
    timing, at_year_end
        As for `npv`.

    Returns
    -------
    str
        Why there is no rate, or what is unusual about it; empty when an outlay is followed by a return.
    """
    return irr_notes(_one(flows)[None], timing=timing, at_year_end=at_year_end)[0]


def irr_notes(flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0) -> list[str]:
    """The same for many flows at once, shape (flows, n + 1)."""
    return irr_with_notes(flows, timing=timing, at_year_end=at_year_end)[1]


def irr_with_notes(
    flows: ArrayLike, *, timing: Timing = "end", at_year_end: ArrayLike = 0.0
) -> tuple[Array, list[str]]:
    """The rates of `irr` and the notes beside them, for many flows of shape (flows, n + 1)."""
    rows = np.asarray(flows, dtype=float)
    mid = is_mid(timing)
    periods = _half_years(rows, at_year_end) if mid else rows
    rates, counts = irr(periods)
    every = _rates(periods, rates, counts)
    if mid:
        rates, every = _yearly(rates), [_yearly(found) for found in every]
    return rates, _notes(rows, periods, every)


def _rates(rows: Array, rates: Array, counts: NDArray[np.int64]) -> list[Array]:
    """Every rate of each row, ascending, from what `irr` found."""
    found = []
    for row, rate, count in zip(rows, rates, counts, strict=True):
        found.append(np.empty(0) if count == 0 else np.atleast_1d(rate) if count == 1 else _roots(row))
    return found


def _notes(flows: Array, periods: Array, rates: list[Array]) -> list[str]:
    """What to say beside the rates of each flow; `periods` are the flows of the years, or half-years, they were found on."""
    plain = np.where(np.isfinite(periods), periods, 0.0)
    plain, _ = _without_trifles(plain, _sign_changes(plain.T))
    about: list[Any] = [
        np.isfinite(flows).all(axis=1),
        flows.any(axis=1),
        (flows >= 0).all(axis=1),
        (flows <= 0).all(axis=1),
        np.sign(_first(plain.T)),
        np.sign(_first(plain.T[::-1])),
    ]
    known: list[Any] = [each.tolist() for each in about]
    return [_note(*one) for one in zip(*known, rates, strict=True)]


def _note(
    is_known: bool, is_any: bool, never_paid: bool, never_received: bool, first: float, last: float, rates: Array
) -> str:
    """The note of one flow, by the signs of its amounts, of its first and of its last."""
    if not is_known:
        return "no rate of return: an amount of the cash flow is missing or not a number"
    if not is_any:
        return "no rate of return: there is neither an outlay nor a saving"
    if never_paid:
        return "no rate of return: no extra capital is spent, so there is nothing to earn a return on"
    if never_received:
        return "no rate of return: the option never saves anything"
    if len(rates) == 0:
        return "no rate of return: no discount rate brings the net present value to zero; judge by that value"
    if len(rates) > 1:
        listed = ", ".join(f"{100 * rate:.4g} %" for rate in rates)
        return (
            f"{len(rates)} rates of return ({listed}), because the cash flow changes sign more than once; "
            "none of them is a measure of merit: use the net present value"
        )
    if first == last:
        return "the net present value touches zero at this rate without changing sign; use the net present value"
    if first > 0:
        return "money comes in first and is paid back later: the rate is a cost of borrowing, good only when low"
    if rates[0] < 0:
        return "the savings do not return the extra capital within the study period, so the rate is negative"
    return ""


def _one(flows: ArrayLike) -> Array:
    flows = np.asarray(flows, dtype=float)
    if flows.ndim != 1:
        raise ValueError(f"one cash flow wanted, shape (years + 1,); got shape {flows.shape}")
    return flows


def _half_years(flows: Array, at_year_end: ArrayLike) -> Array:
    """The flow by half-years, shape (..., 2 n + 1): yearly amounts at mid-year, the rest at the year's end."""
    lumps = np.broadcast_to(np.asarray(at_year_end, dtype=float), flows.shape)
    halves = np.zeros((*flows.shape[:-1], 2 * flows.shape[-1] - 1))
    halves[..., 0] = flows[..., 0]
    halves[..., 1::2] = (flows - lumps)[..., 1:]
    halves[..., 2::2] = lumps[..., 1:]
    return halves


def _yearly(rate: Array) -> Array:
    """The rate of a year from that of half a year."""
    return rate * (2.0 + rate)


def _irr_block(rows: Array) -> tuple[Array, NDArray[np.int64]]:
    """`irr` of a block, shape (rows, n + 1)."""
    finite = np.isfinite(rows)
    if not finite.all():
        rows = np.where(finite.all(axis=1, keepdims=True), rows, 0.0)
    rate = np.full(len(rows), np.nan)
    rows, changes = _without_trifles(rows, _sign_changes(rows.T))
    count = np.minimum(changes, 1)
    single = changes == 1
    several = np.flatnonzero(changes > 1)
    if several.size:
        known = _surely(rows[several])
        count[several] = known
        single[several[known == 1]] = True
        for row in several[known < 0]:
            roots = _roots(rows[row])
            count[row] = len(roots)
            rate[row] = roots[0] if len(roots) == 1 else np.nan
    if single.all():
        rate = _single(rows)
    elif single.any():
        rate[single] = _single(rows[single])
    return rate, count


def _sign_changes(columns: Array) -> NDArray[np.int64]:
    """Changes of sign along the first axis, zeros left out."""
    signs = np.sign(columns).astype(np.int8)
    if signs.all():
        return np.asarray(np.count_nonzero(signs[1:] != signs[:-1], axis=0))
    last = signs[0].copy()
    changes = np.zeros(columns.shape[1], dtype=np.int64)
    for sign in signs[1:]:
        changes += sign * last < 0
        last = np.where(sign == 0, last, sign)
    return changes


def _without_trifles(rows: Array, changes: NDArray[np.int64]) -> tuple[Array, NDArray[np.int64]]:
    """Flows with so many changes of sign, those with several without what is nothing beside their largest amount; and the changes left."""
    several = np.flatnonzero(changes > 1)
    chosen = np.abs(rows[several])
    trifles = (chosen < _VANISHING * chosen.max(axis=1, keepdims=True)) & (chosen > 0.0)
    if trifles.any():
        rows, changes = rows.copy(), changes.copy()
        rows[several] = np.where(trifles, 0.0, rows[several])
        changes[several] = _sign_changes(rows[several].T)
    return rows, changes


def _surely(rows: Array) -> NDArray[np.int64]:
    """How many rates the rule of signs leaves, applied to those above and below zero apart: 0 or 1; -1 where it cannot tell."""
    # p(x + 1) has the roots with x > 1, the same of the reversed polynomial those with x < 1.
    total = np.zeros(len(rows), dtype=np.int64)
    sure = np.ones(len(rows), dtype=bool)
    binomials = _binomials(rows.shape[1])
    for half in (rows.T, rows.T[::-1]):
        with np.errstate(over="ignore", invalid="ignore"):
            shifted = binomials @ half
            sure &= (np.abs(shifted) > _TOUCH * (binomials @ np.abs(half))).all(axis=0)
        total += np.count_nonzero((shifted[1:] > 0) != (shifted[:-1] > 0), axis=0)
    return np.where(sure & (total <= 1), total, -1)


@lru_cache(maxsize=8)
def _binomials(length: int) -> Array:
    """What turns the coefficients of p(x), in rising powers, into those of p(x + 1)."""
    found = np.zeros((length, length))
    found[0] = 1.0
    with np.errstate(over="ignore"):
        for row in range(1, length):
            np.cumsum(found[row - 1, :-1], out=found[row, 1:])
    return found


def _single(rows: Array) -> Array:
    """The rate of flows known to have exactly one, shape (rows,)."""
    # Turned round in time where the rate is negative, so that 0 < x <= 1 and no power of x overflows.
    columns = np.array(rows.T, order="C")
    turned = np.sign(_first(columns)) == np.sign(columns.sum(axis=0))
    columns[:, turned] = columns[::-1, turned]
    columns = _from_first(columns)
    first = _first(columns)
    columns *= -np.sign(first) / np.maximum(columns.max(axis=0), -columns.min(axis=0))  # first paid, then received
    first = np.abs(_first(columns))
    sums = _sums_of(np.maximum(columns, 0.0), np.maximum(-columns, 0.0))
    low = np.log(first) - np.log1p(first)  # Cauchy's bound: no root of smaller x
    high = np.zeros(len(rows))
    log_x = high.copy()
    with np.errstate(divide="ignore", invalid="ignore", under="ignore"):
        for _ in range(200):
            gain, cost, gain_slope, cost_slope = sums(log_x)
            value = np.log(gain / cost)
            high = np.where(value >= 0, log_x, high)
            low = np.where(value <= 0, log_x, low)
            newton = log_x - value / (gain_slope / gain - cost_slope / cost)
            done = np.abs(newton - log_x) <= 1e-8 * (1 - log_x)  # the step is quadratic: the next one is exact
            inside = (newton > low) & (newton < high)
            log_x = np.where(done | inside, newton, 0.5 * (low + high))
            if done.all():
                break
    return np.expm1(np.where(turned, log_x, -log_x))


def _sums_of(received: Array, paid: Array) -> Callable[[Array], Sequence[Array]]:
    """What tells of log x the present value received and that paid, by x^year, and the slopes of both over log x."""
    if received.size <= _FEW:  # all powers at once are quicker than a step for each year
        year = np.arange(len(received))[:, None]
        terms = np.array([received, paid, year * received, year * paid])
        return lambda log_x: np.einsum("ktr,tr->kr", terms, np.exp(year * log_x))
    received, paid = _trimmed(received), _trimmed(paid)

    def by_year(log_x: Array) -> Sequence[Array]:
        x = np.exp(log_x)
        (gain, gain_slope), (cost, cost_slope) = _horner(received, x), _horner(paid, x)
        return gain, cost, x * gain_slope, x * cost_slope

    return by_year


def _trimmed(columns: Array) -> Array:
    """Without the last years in which no flow has an amount; none is negative."""
    return columns[: np.flatnonzero(columns.max(axis=1))[-1] + 1]


def _from_first(columns: Array) -> Array:
    """From the first amount of each column on, so that high powers of a small x leave nothing out; noughts follow."""
    start = (columns != 0).argmax(axis=0)
    if not start.any():
        return columns
    year = np.arange(len(columns))[:, None] + start
    moved = np.take_along_axis(columns, np.minimum(year, len(columns) - 1), axis=0)
    return np.where(year < len(columns), moved, 0.0)


def _first(columns: Array) -> Array:
    """The first amount other than zero of each column."""
    return columns[(columns != 0).argmax(axis=0), np.arange(columns.shape[1])]


def _horner(coefficients: Array, x: Array) -> tuple[Array, Array]:
    """Value and derivative of polynomials; coefficients of rising powers along the first axis."""
    value = coefficients[-1].copy()
    slope = np.zeros_like(x)
    for coefficient in coefficients[-2::-1]:
        slope *= x
        slope += value
        value *= x
        value += coefficient
    return value, slope


def _roots(flow: Array) -> Array:
    """All rates of one flow from the companion matrix, ascending, each polished and checked."""
    flow = flow / np.abs(flow).max()
    flow[np.abs(flow) < _VANISHING] = 0.0
    roots = np.roots(flow[::-1])  # in x; zeros at either end are taken off by it
    # A double root comes out as a pair of complex numbers about 1e-8 apart.
    x = np.sort(roots.real[(roots.real > 0) & (np.abs(roots.imag) < 1e-4 * np.abs(roots))])
    found: list[float] = []
    for guess in x:
        # High powers of x above 1 overflow; turned round, the polynomial has the root 1/x.
        best = _polished(flow, guess) if guess <= 1.0 else 1.0 / _polished(flow[::-1], 1.0 / guess)
        if all(not abs(best - other) <= 1e-4 * best for other in found) and np.isfinite(best):
            found.append(best)
    return np.sort(1 / np.array(found) - 1) if found else np.empty(0)


def _polished(polynomial: Array, guess: float) -> float:
    """A root near a guess from 0 to 1, after a few steps of Newton's; NaN where there is none."""
    slope, powers = np.polynomial.polynomial.polyder(polynomial), np.arange(len(polynomial))
    best = guess
    for _ in range(20):
        value, steep = _value(polynomial, best), _value(slope, best)
        step = value / steep if steep else 0.0
        if abs(step) > 1e-3 * best or abs(_value(polynomial, best - step)) >= abs(value):
            break
        best -= step
    amounts = np.sum(np.abs(polynomial) * best**powers)
    return best if abs(_value(polynomial, best)) <= _TOUCH * amounts else float("nan")


def _value(polynomial: NDArray[Any], x: float) -> float:
    return float(np.polynomial.polynomial.polyval(x, polynomial))
