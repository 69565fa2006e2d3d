"""Wind as it is felt on one face of a building: in full from its own side, less from the others."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from towerpace.units import Floats

CIRCLE_DEG = 360.0


@dataclass(frozen=True)
class FacedWind:
    """The wind of a record on a face.

    Wind around a tall building speeds up at its corners and turns back in its wake, which no factor by angle
    says: a planning input, measured on the site or from a wind tunnel, and never permission to lift.

    Attributes
    ----------
    wind
        Whether gusts or means.
    facing_deg
        Compass direction that the face looks to, clockwise from north. [°]
    sector_deg
        Wind from within this angle of it, on either side, counts in full. [°]
    lee_factor
        What wind from elsewhere is multiplied by. [-]
    """

    wind: Literal["gust", "mean"]
    facing_deg: float
    sector_deg: float
    lee_factor: float

    def felt(self, speed_m_s: Floats, direction_deg: Floats) -> Floats:
        """Wind on the face, shape (n_hours,). [m/s]

        Parameters
        ----------
        speed_m_s
            At the station, shape (n_hours,). [m/s]
        direction_deg
            Where it comes from, clockwise from north, shape (n_hours,); NaN where unknown, as of a wind that
            shifts: then it counts in full. [°]

        Examples
        --------
        >>> north = FacedWind("gust", facing_deg=0, sector_deg=60, lee_factor=0.5)
        >>> north.felt(np.full(4, 10.0), np.array([350.0, 60.0, 61.0, np.nan]))
        array([10., 10.,  5., 10.])
        """
        off = np.mod(direction_deg - self.facing_deg, CIRCLE_DEG)
        angle = np.minimum(off, CIRCLE_DEG - off)
        return np.where(angle > self.sector_deg, self.lee_factor * speed_m_s, speed_m_s)
