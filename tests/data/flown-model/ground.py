"""Where things are: runways on the WGS 84 ellipsoid, their beams, and the altimeter.

Written from the definitions, and without a look at the program that is checked with it.
"""

import math

import numpy as np

FT = 0.3048
NM = 1852.0
A = 6378137.0  # WGS 84 equatorial radius, m
E2 = (1 / 298.257223563) * (2 - 1 / 298.257223563)


def earth_centred(lat_deg, lon_deg, height_m):
    """Cartesian metres of geodetic degrees; takes arrays."""
    lat, lon = np.radians(lat_deg), np.radians(lon_deg)
    n = A / np.sqrt(1 - E2 * np.sin(lat) ** 2)
    return np.stack([
        (n + height_m) * np.cos(lat) * np.cos(lon),
        (n + height_m) * np.cos(lat) * np.sin(lon),
        (n * (1 - E2) + height_m) * np.sin(lat),
    ], axis=-1)


def geodetic(point):
    """Latitude, longitude (degrees) and height (m) of Cartesian metres, by iteration."""
    x, y, z = point
    p = math.hypot(x, y)
    lat = math.atan2(z, p * (1 - E2))
    for _ in range(8):
        n = A / math.sqrt(1 - E2 * math.sin(lat) ** 2)
        height = p / math.cos(lat) - n
        lat = math.atan2(z, p * (1 - E2 * n / (n + height)))
    return math.degrees(lat), math.degrees(math.atan2(y, x)), height


class Runway:
    """A level runway and its beams, from its landing threshold.

    The glide path crosses the threshold at 50 ft. One dot is 75 microamperes: 0.12 of the glide-path
    angle, and half of what the localizer shows 105 m beside the centreline at the threshold (nominal,
    ICAO Annex 10, from memory). The localizer stands 1,000 ft beyond the far end.
    """

    def __init__(self, airport, ident, other, lat_deg, lon_deg, bearing_deg, elevation_ft, length_ft, displaced_ft=0.0):
        self.airport, self.ident, self.other = airport, ident, other
        self.lat_deg, self.lon_deg, self.bearing_deg = lat_deg, lon_deg, bearing_deg
        self.elevation_ft, self.length_ft = elevation_ft, length_ft
        self.displaced_ft = displaced_ft  # pavement before the landing threshold
        self.path_deg, self.crossing_ft = 3.0, 50.0
        self.origin = earth_centred(lat_deg, lon_deg, elevation_ft * FT)
        lat, lon, bearing = map(math.radians, (lat_deg, lon_deg, bearing_deg))
        east = np.array([-math.sin(lon), math.cos(lon), 0.0])
        north = np.array([-math.sin(lat) * math.cos(lon), -math.sin(lat) * math.sin(lon), math.cos(lat)])
        self.up = np.array([math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat)])
        self.ahead = math.sin(bearing) * east + math.cos(bearing) * north
        self.right = math.cos(bearing) * east - math.sin(bearing) * north
        self.axes = np.stack([self.ahead, self.right, self.up])

    def place(self, lat_deg, lon_deg, height_m):
        """Feet beyond the threshold, right of the centreline, above the tangent plane; takes arrays."""
        return (earth_centred(lat_deg, lon_deg, height_m) - self.origin) @ self.axes.T / FT

    def point(self, ahead_ft, right_ft):
        """Latitude and longitude of a point of the tangent plane."""
        lat, lon, _ = geodetic(self.origin + (ahead_ft * self.ahead + right_ft * self.right) * FT)
        return lat, lon

    def glide_path_dots(self, ahead_ft, right_ft, up_ft):
        """Above (+) or below the glide path, seen from its antenna."""
        path = math.radians(self.path_deg)
        antenna_ft = self.crossing_ft / math.tan(path)
        angle = np.arctan2(up_ft, np.maximum(antenna_ft - ahead_ft, 1.0))
        return (angle / path - 1.0) / 0.12

    def localizer_dots(self, ahead_ft, right_ft):
        """Right (+) or left of the localizer's course."""
        antenna_ft = self.length_ft + 1000.0
        half_course = math.atan(105.0 / FT / antenna_ft)
        return 2.0 * np.arctan2(right_ft, np.maximum(antenna_ft - ahead_ft, 1.0)) / half_course


def pressure_altitude_ft(pressure_pa):
    """What an altimeter set to 1013.25 hPa reads: the standard troposphere turned round."""
    ratio = np.asarray(pressure_pa) / 101325.0
    return 288.15 / 0.0065 * (1.0 - ratio ** (287.05287 * 0.0065 / 9.80665)) / FT
