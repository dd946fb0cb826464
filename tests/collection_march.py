"""Sections drawn from the bundled collection and marched through stall; shared by tests and benches."""

import random

import numpy as np

from wingtool.geometry import collection_names, collection_section, measure
from wingtool.section import Question, polars

REYNOLDS, ALPHA_DEG = np.array([2e5, 5e5, 1e6]), np.arange(-5.0, 21.0)


def converged(surface, count):
    """Points found and asked for, up to stall + 2: {camber above 6 %: [found, asked]}."""
    good = {False: [0, 0], True: [0, 0]}
    sections, camber = zip(*drawn(count), strict=True)
    asked = [Question(section, REYNOLDS, ALPHA_DEG, surface) for section in sections]
    for polar, high in zip(polars(asked, "coupled"), np.array(camber) > 0.06, strict=True):
        for cl in polar.cl:
            until = up_to_stall(cl)
            good[high][0] += int(np.isfinite(cl[:until]).sum())
            good[high][1] += until
    print(surface, {high: f"{found} of {asked}" for high, (found, asked) in good.items()})
    return good


def drawn(count, seed=2026):
    """Sections of the bundled collection, 6 to 22 % thick, in an order that a seed fixes."""
    names = list(collection_names())
    random.Random(seed).shuffle(names)
    given = 0
    for name in names:
        section = collection_section(name)
        size = measure(section)
        if 0.06 <= size.thickness <= 0.22:
            given += 1
            yield section, size.camber
        if given == count:
            return


def up_to_stall(cl):
    """Number of angles from the first to two behind the first peak of lift beyond 2 degrees."""
    for i in range(8, len(cl) - 1):
        if cl[i] >= cl[i - 1] and cl[i] > cl[i + 1]:
            return i + 3
    return len(cl)
