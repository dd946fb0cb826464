"""Arrays that carry their exact derivatives with them (forward differentiation by the chain rule).

A closure is written once, as its formula; the Newton matrix follows without a second set of formulas that
could disagree with the first.
"""

import numpy as np


class Dual:
    """Values of shape ``(n,)`` with derivatives of shape ``(k, n)`` against k local unknowns.

    Examples
    --------
    >>> x = variables(np.array([3.0]))[0]
    >>> y = x * x + 1.0 / x
    >>> round(float(y.value[0]), 4), round(float(y.derivative[0, 0]), 4)
    (9.3333, 5.8889)
    """

    __slots__ = ("derivative", "value")
    __array_ufunc__ = None  # so that ndarray * Dual comes here

    def __init__(self, value, derivative):
        self.value = value
        self.derivative = derivative

    def __add__(self, other):
        if isinstance(other, Dual):
            return Dual(self.value + other.value, self.derivative + other.derivative)
        return Dual(self.value + other, self.derivative)

    __radd__ = __add__

    def __neg__(self):
        return Dual(-self.value, -self.derivative)

    def __sub__(self, other):
        if isinstance(other, Dual):
            return Dual(self.value - other.value, self.derivative - other.derivative)
        return Dual(self.value - other, self.derivative)

    def __rsub__(self, other):
        return Dual(other - self.value, -self.derivative)

    def __mul__(self, other):
        if isinstance(other, Dual):
            return Dual(
                self.value * other.value, other.value * self.derivative + self.value * other.derivative
            )
        return Dual(self.value * other, self.derivative * other)

    __rmul__ = __mul__

    def __truediv__(self, other):
        if isinstance(other, Dual):
            over = 1.0 / other.value
            value = self.value * over
            return Dual(value, (self.derivative - value * other.derivative) * over)
        return Dual(self.value / other, self.derivative / other)

    def __rtruediv__(self, other):
        value = other / self.value
        return Dual(value, (-value / self.value) * self.derivative)

    def take(self, index):
        """The values of an index array."""
        return Dual(self.value[index], self.derivative[:, index])

    def chain(self, value, derivative):
        """A function of this one, given its value and its derivative against this one."""
        return Dual(value, derivative * self.derivative)


def variables(*values):
    """Independent unknowns: one `Dual` for each array, each with derivative one against itself."""
    count, size = len(values), len(values[0])
    result = []
    for k, value in enumerate(values):
        derivative = np.zeros((count, size))
        derivative[k] = 1.0
        result.append(Dual(value, derivative))
    return result


def exp(x):
    """Exponential."""
    value = np.exp(x.value)
    return x.chain(value, value)


def log(x):
    """Natural logarithm."""
    return x.chain(np.log(x.value), 1.0 / x.value)


def tanh(x):
    """Hyperbolic tangent."""
    value = np.tanh(x.value)
    return x.chain(value, 1.0 - value * value)


def power(x, exponent):
    """Power with a fixed exponent, of a positive number."""
    value = x.value**exponent
    return x.chain(value, exponent * value / x.value)


def where(condition, one, other):
    """`one` where the condition holds, `other` elsewhere."""
    return Dual(
        np.where(condition, one.value, other.value), np.where(condition, one.derivative, other.derivative)
    )


def maximum(x, least):
    """x, not below `least`; below it the derivative is zero."""
    above = x.value > least
    return Dual(np.where(above, x.value, least), x.derivative * above)
