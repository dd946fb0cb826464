"""A measured difference with its standard error, judged against an estimate.

The unit of evidence is a run (or a pair of runs in both directions, a steady stretch, a corner passed): what
differs from run to run (gusts, tyres, the driver) is in the scatter between units, never in the fit within
one, so the standard error tells what repeats. Least squares with Student's t (JCGM 100:2008, G.3, from
memory) and the jackknife's standard error (MacKinnon and White, Journal of Econometrics 29, 1985; never too
small in the mean: Efron and Stein, Annals of Statistics 9, 1981; both from memory): units may scatter unlike,
with the parts and without, in a lull and in gusts. The usual one is exact where all scatter alike and finds a
part that is not there in one day of twenty, up to one in fourteen where one state scatters twice as much.
Units' errors are taken as independent: the test sheets ask for A-B-A-B.
"""

from dataclasses import dataclass
from math import ceil, isfinite, nan

import numpy as np

CONSISTENT, NOT_CONSISTENT, TOO_NOISY = "consistent", "not consistent", "too noisy to tell"
MOST_RUNS = 10_000
POWER_80 = 0.84  # 80 % point of the normal distribution: noticed four times in five


@dataclass(frozen=True)
class Evidence:
    """What the track says of one quantity.

    Parameters
    ----------
    what, unit : str
        For example ``drag area``, ``m^2``.
    change, standard_error : float
        Measured change from off to on; nan where it cannot be had.
    degrees : int
        Degrees of freedom.
    units_on, units_off : int
        Units of evidence with and without the parts.
    predicted, predicted_low, predicted_high : float
        The estimate and its band.
    unit_name : str
        What a unit is.
    note : str

    Notes
    -----
    If the interval misses the prediction's band: not consistent. If it holds no change and reaches past the
    band: too noisy. Else: consistent, also within a band that holds no change itself. A claim needs
    abs(change) > t s; t is near 2 for many units and larger for few.
    """

    what: str
    unit: str
    change: float
    standard_error: float
    degrees: int
    units_on: int
    units_off: int
    predicted: float
    predicted_low: float
    predicted_high: float
    unit_name: str
    note: str = ""

    @property
    def reach(self) -> float:
        """Half width of the 95 % interval."""
        return student_t(self.degrees) * self.standard_error

    @property
    def low(self) -> float:
        """Low end of the 95 % interval."""
        return self.change - self.reach

    @property
    def high(self) -> float:
        """High end of the 95 % interval."""
        return self.change + self.reach

    @property
    def found(self) -> bool:
        """Whether the interval leaves out no change at all."""
        return abs(self.change) > self.reach

    @property
    def word(self) -> str:
        """``consistent``, ``not consistent`` or ``too noisy to tell``."""
        if self.low > self.predicted_high or self.high < self.predicted_low:
            return NOT_CONSISTENT
        within = self.predicted_low <= self.low and self.high <= self.predicted_high
        return CONSISTENT if self.found or within else TOO_NOISY

    @property
    def more_units(self) -> int:
        """How many more units are needed, half on and half off; 0 once decided."""
        if self.word != TOO_NOISY:
            return 0
        if np.isnan(self.change):
            return max(4, 6 - self.units_on - self.units_off)
        return more_units(self.standard_error, self.units_on + self.units_off, self.predicted or self.change)

    @property
    def noticed(self) -> float:
        """Smallest difference between truth and estimate that would be noticed, four times in five."""
        return (self.predicted_high - self.predicted_low) / 2 + self.reach + POWER_80 * self.standard_error


def least_squares(design: np.ndarray, values: np.ndarray, of: int) -> tuple[float, float, int]:
    """Coefficient `of`, its jackknife standard error, degrees of freedom; nan where they cannot be had.

    A unit that is fitted exactly (leverage one) tells nothing of the scatter and is left out of it.

    Examples
    --------
    Two means of two, 2 and 6: each unit left out moves the change by 1, 1, 2, 2; 3/4 (1 + 1 + 4 + 4) = 7.5.

    >>> design = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 1.0], [1.0, 1.0]])
    >>> change, error, degrees = least_squares(design, np.array([1.0, 3.0, 4.0, 8.0]), 1)
    >>> round(change, 9), round(error**2, 9), degrees
    (4.0, 7.5, 2)
    """
    units, unknowns = design.shape
    degrees = units - unknowns
    if degrees < 1 or np.linalg.matrix_rank(design) < unknowns:
        return nan, nan, max(degrees, 0)
    scale = np.sqrt(np.mean(design**2, axis=0))
    inverse = np.linalg.pinv(design / scale)
    coefficients = inverse @ values
    rest = values - design / scale @ coefficients
    free = 1.0 - np.einsum("ij,ji->i", design / scale, inverse)
    moved = inverse[of] * np.divide(rest, free, out=np.zeros(units), where=free > 1e-9)
    error = np.sqrt((units - 1) * np.var(moved))
    return float(coefficients[of] / scale[of]), float(error / scale[of]), degrees


def change_with_drift(values: np.ndarray, on: np.ndarray) -> tuple[float, float, int]:
    """Change from off to on in units taken in order, a steady drift through the day taken out.

    With fewer than five units there is nothing to take a drift from, and it is left in.

    Examples
    --------
    >>> on = np.array([0, 1, 0, 1, 0, 1], bool)
    >>> change, error, degrees = change_with_drift(1.0 + 0.1 * np.arange(6) + 0.5 * on, on)
    >>> round(change, 6), degrees
    (0.5, 3)
    """
    columns = [np.ones(len(values)), np.asarray(on, float)]
    if len(values) >= 5:
        columns.append(np.arange(len(values)) - (len(values) - 1) / 2)
    return least_squares(np.stack(columns, axis=1), np.asarray(values, float), 1)


def judged(
    what: str,
    unit: str,
    estimate: tuple[float, float, int],
    factor: float,
    predicted: tuple[float, float, float],
    units_on: int,
    units_off: int,
    unit_name: str,
    note: str = "",
) -> Evidence:
    """A measured change beside its prediction.

    Parameters
    ----------
    estimate : (change, standard error, degrees of freedom)
        As fitted; `factor` turns both into `unit`.
    predicted : (value, low, high)
    """
    change, error, degrees = estimate[0] * factor, abs(estimate[1] * factor), estimate[2]
    if not (isfinite(change) and isfinite(error)):
        change, error, note = nan, nan, note or "too few units to see their scatter"
    value, *ends = predicted
    return Evidence(
        what, unit, change, error, degrees, units_on, units_off, value, min(ends), max(ends), unit_name, note
    )


def student_t(degrees: int) -> float:
    """Two-sided 95 % point of Student's t.

    Examples
    --------
    JCGM 100:2008, table G.2 (from memory): 2.57 for 5 degrees of freedom.

    >>> round(student_t(5), 2)
    2.57
    """
    from scipy.special import stdtrit

    return float(stdtrit(degrees, 0.975))


def more_units(error: float, units: int, target: float) -> int:
    """How many more units until twice the standard error is below the size of the target.

    The error falls with the root of the number of units: n = units (2 s / d)^2. Even, at least 2.
    """
    if not target:
        return MOST_RUNS
    wanted = units * (2.0 * error / abs(target)) ** 2
    return min(max(2, 2 * ceil((wanted - units) / 2)), MOST_RUNS)
