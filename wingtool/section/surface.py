"""Surface states: what the skin and the air do to transition. All their numbers stand here."""

from dataclasses import dataclass

from wingtool.boundary_layer import critical_amplification
from wingtool.errors import RangeError


@dataclass(frozen=True)
class Surface:
    """One surface state.

    Parameters
    ----------
    turbulence : float
        Turbulence of the stream, rms over mean speed; sets the critical amplification (Mack, 1977).
    trip_x : float
        x/c at which both sides are turbulent at the latest; 1 leaves them alone.
    roughness_theta : float
        Momentum thickness [chord] that a rough nose adds at the trip.
    origin : str
        Where the numbers come from.
    """

    turbulence: float
    trip_x: float
    roughness_theta: float
    origin: str

    @property
    def critical(self) -> float:
        """Amplification exponent N at transition."""
        return critical_amplification(self.turbulence)


SURFACES = {
    "smooth": Surface(
        turbulence=0.0007,
        trip_x=1.0,
        roughness_theta=0.0,
        origin="quiet tunnel, N = 9 (Mack, JPL 77-15, 1977); polished skin",
    ),
    "race": Surface(
        turbulence=0.005,
        trip_x=0.05,
        roughness_theta=0.0,
        origin="turbulence 0.5 % in traffic, flies and stone chips near the nose; common practice; its lift"
        " is that of 19 measured curves with zigzag strips",
    ),
    "dirty": Surface(
        turbulence=0.01,
        trip_x=0.01,
        roughness_theta=4.6e-4,
        origin="one grain height of NACA standard roughness, 0.011 in on 24 in chord (TR 824, 1945)",
    ),
}


def surface_state(name: str) -> Surface:
    """The surface of a name.

    Raises
    ------
    RangeError
        Unknown name.
    """
    if name not in SURFACES:
        raise RangeError(f"surface: {name!r} is unknown; choose one of {', '.join(SURFACES)}")
    return SURFACES[name]


def trip_of(surface: str, trip_x: float | None) -> float:
    """x/c of the trip: the one given, else the surface's own."""
    return surface_state(surface).trip_x if trip_x is None else trip_x
