"""The network of the learned surrogate, from the weights that ship with neuralfoil.

Only its files are read. The package itself opens aerosandbox, and with it libraries of pictures and tables: a
second at each start and in each worker, ten times what a polar takes.
"""

from functools import cache
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from wingtool.errors import WingtoolError

READ_VERSION = "0.3."  # a later one may scale its inputs in another way
GAP_SCALE, REYNOLDS_MIDDLE, REYNOLDS_SCALE = 50.0, 12.5, 3.5  # of the inputs
OUTPUTS = 6  # of the last layer: the rest are boundary layers
# The same flow upside down: sides and trips change places, weights, nose term and sine their signs. In the
# answer places of transition change places, lift and moment their signs.
TURNED = np.r_[8:16, 0:8, 16:23, 24, 23]
TURNED_SIGN = np.where(np.isin(np.arange(len(TURNED)), [*range(17), 18]), -1.0, 1.0)
BACK, BACK_SIGN = np.array([0, 1, 2, 3, 5, 4]), np.array([1.0, -1.0, 1.0, -1.0, 1.0, 1.0])


@cache
def _learned(size: str) -> tuple[list[tuple[np.ndarray, np.ndarray]], np.ndarray, np.ndarray]:
    """Weights and biases of each layer; mean and inverse covariance of the inputs that it learned from."""
    if not (there := version("neuralfoil")).startswith(READ_VERSION):
        raise WingtoolError(f"neuralfoil {there} may scale its weights anew: install {READ_VERSION}x")
    spec = find_spec("neuralfoil")
    folder = Path(str(spec and spec.origin)).parent / "nn_weights_and_biases"
    with np.load(folder / f"nn-{size}.npz") as net:
        numbers = sorted({int(name.split(".")[1]) for name in net})
        layers = [(net[f"net.{k}.weight"].astype(float), net[f"net.{k}.bias"].astype(float)) for k in numbers]
    with np.load(folder / "scaled_input_distribution.npz") as inputs:
        mean, inverse = inputs["mean_inputs_scaled"].astype(float), inputs["inv_cov_inputs_scaled"]
    layers[-1] = tuple(part[:OUTPUTS] for part in layers[-1])
    return layers, mean, inverse


def network(shapes: np.ndarray, reynolds, alpha_deg: np.ndarray, trip_x: float, size: str) -> np.ndarray:
    """Confidence, cl, cd, cm, transition on upper and lower side, shape (6, n), at amplification 9.

    Parameters
    ----------
    shapes : ndarray, shape (n, 18)
        Rows of Kulfan parameters, see `surrogate_shapes`.
    reynolds : float or ndarray, shape (n,)
    alpha_deg : ndarray, shape (n,)
    trip_x : float
        On both sides; 1 leaves it free.
    size : str
        Of the network: ``large``, ``xlarge``.
    """
    alpha, scaled = np.radians(alpha_deg), (np.log(reynolds) - REYNOLDS_MIDDLE) / REYNOLDS_SCALE
    flow = [np.sin(2.0 * alpha), np.cos(alpha), 1.0 - np.cos(alpha) ** 2]
    flow += [np.full(len(shapes), value) for value in (scaled, 0.0, trip_x, trip_x)]
    inputs = np.stack([*shapes[:, :-1].T, GAP_SCALE * shapes[:, -1], *flow])
    straight = _answer(inputs, size)
    turned = _answer(inputs[TURNED] * TURNED_SIGN[:, None], size)[BACK] * BACK_SIGN[:, None]
    confidence, cl, cd, cm, *transition = 0.5 * (straight + turned)
    with np.errstate(over="ignore"):  # far from what it learned: no confidence
        confidence = 1.0 / (1.0 + np.exp(-confidence))
    return np.stack(
        [confidence, cl / 2.0, np.exp(2.0 * (cd - 2.0)), cm / 20.0, *np.clip(transition, 0.0, 1.0)]
    )


def _answer(inputs: np.ndarray, size: str) -> np.ndarray:
    """Scaled outputs (6, n) of scaled inputs (25, n); confidence falls off away from what it learned."""
    layers, mean, inverse = _learned(size)
    *hidden, (weight, bias) = layers
    values = inputs
    with np.errstate(over="ignore"):
        for matrix, offset in hidden:
            values = matrix @ values + offset[:, None]
            values /= 1.0 + np.exp(-values)
    answer = weight @ values + bias[:, None]
    off = inputs - mean[:, None]
    answer[0] -= np.sum((inverse @ off) * off, axis=0) / (2.0 * len(mean))
    return answer
