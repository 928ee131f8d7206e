"""Sun, CIE general sky, point flash and area flash: each evaluates itself exactly and draws directions for itself.

A draw is (direction, distance, weight, pdf): weight = radiance / pdf (RGB), so that weight times the receiver's
response estimates the light; pdf is per solid angle, 0 where no other way of drawing can find the source."""
import math

import numpy as np

from variant import dr, luminance, mi, triple

FAR = 1e7

# ISO 15469 / CIE S 011 standard skies: a, b of the gradation, c, d, e of the indicatrix. 16 is the Moon-Spencer
# overcast sky (1 + 2 sin el) / 3, an older form that the neutral scenes name too.
SKY_TYPES = {1: (4, -.7, 0, -1, 0), 2: (4, -.7, 2, -1.5, .15), 3: (1.1, -.8, 0, -1, 0), 4: (1.1, -.8, 2, -1.5, .15),
             5: (0, -1, 0, -1, 0), 6: (0, -1, 2, -1.5, .15), 7: (0, -1, 5, -2.5, .3), 8: (0, -1, 10, -3, .45),
             9: (-1, -.55, 2, -1.5, .15), 10: (-1, -.55, 5, -2.5, .3), 11: (-1, -.55, 10, -3, .45),
             12: (-1, -.32, 10, -3, .45), 13: (-1, -.32, 16, -3, .3), 14: (-1, -.15, 16, -3, .3),
             15: (-1, -.15, 24, -2.8, .15)}


def direction(azimuth_deg, elevation_deg):
    """Unit vector; azimuth clockwise from +y seen from above."""
    a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
    return np.array([math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), math.sin(e)])


def unit_rgb(colour):
    """The colour scaled to luminance 1, so that a level in lux stays a level in lux."""
    c = np.array(colour, float)
    return c / luminance(c)


class Sun:
    """An even disc (diameter_deg, 0 = one direction) giving `lux` on a plane across its middle."""

    def __init__(self, azimuth_deg, elevation_deg, lux, diameter_deg=0.0, colour=(1, 1, 1)):
        self.towards = direction(azimuth_deg, elevation_deg)
        half = math.radians(diameter_deg / 2)
        self.cap = 2 * math.sin(half / 2) ** 2                     # 1 - cos(half)
        scale = 2 * self.cap / math.sin(half) ** 2 if half > 0 else 1.0
        self.weight = triple(mi.Color3f, (lux * scale * unit_rgb(colour)))
        self.frame = mi.Frame3f(triple(mi.Vector3f, self.towards))

    def draw(self, p, sampler):
        s = sampler.next_2d()
        k = self.cap * s.x
        r = dr.sqrt(k * (2 - k))
        sin, cos = dr.sincos(2 * dr.pi * s.y)
        d = self.frame.to_world(mi.Vector3f(r * cos, r * sin, 1 - k))
        return d, mi.Float(FAR), self.weight, mi.Float(0)


def sky_relative(kind, z, chi, sun_z):
    """Luminance of a CIE sky over its zenith's, up to a constant; z = sine of the elevation, chi = angle from the sun,
    both numpy or Mitsuba arrays; sun_z = sine of the sun's elevation (numpy float)."""
    lib = np if isinstance(z, np.ndarray) else dr
    if kind == 16:
        return (1 + 2 * z) / 3
    a, b, c, d, e = SKY_TYPES[kind]
    gradation = 1 + a * lib.exp(b / lib.maximum(z, 1e-4))
    cos = lib.cos(chi)
    indicatrix = 1 + c * (lib.exp(d * chi) - math.exp(d * math.pi / 2)) + e * cos * cos
    return gradation * indicatrix


class Sky:
    """CIE general sky scaled to `lux` on an open horizontal plane; nothing below the horizon, no sun in it."""
    ROWS, COLS = 45, 90

    def __init__(self, kind, lux, sun_azimuth_deg, sun_elevation_deg, colour=(1, 1, 1)):
        if kind not in SKY_TYPES and kind != 16:
            raise ValueError(f"sky type {kind}; ISO 15469 has types 1 to 15")
        self.kind = kind
        self.sun = direction(sun_azimuth_deg, sun_elevation_deg)
        self.sun_z = float(self.sun[2])
        n = 900                                                    # midpoint rule, n by 2 n cells
        el = (np.arange(n) + .5) * math.pi / 2 / n
        az = (np.arange(2 * n) + .5) * math.pi / n
        level = self._numpy(el, az)
        total = np.sum(level * (np.sin(el) * np.cos(el))[:, None]) * (math.pi / 2 / n) * (math.pi / n)
        self.zenith = lux / total
        self.colour = triple(mi.Color3f, unit_rgb(colour))
        k = n // self.ROWS
        power = (level * np.cos(el)[:, None]).reshape(self.ROWS, k, self.COLS, 2 * n // self.COLS).sum((1, 3))
        power = power / power.sum() * .95 + .05 / power.size        # every cell can be drawn
        self.pick = mi.DiscreteDistribution(mi.Float(power.ravel().astype(np.float32)))
        edges = np.sin(np.arange(self.ROWS + 1) * math.pi / 2 / self.ROWS)
        self.edges = mi.Float(edges.astype(np.float32))
        omega = np.diff(edges)[:, None] * (2 * math.pi / self.COLS)
        self.density = mi.Float((power / omega).ravel().astype(np.float32))

    def _numpy(self, el, az):
        z = np.sin(el)[:, None] * np.ones_like(az)
        dot = np.cos(el)[:, None] * (np.sin(az) * self.sun[0] + np.cos(az) * self.sun[1]) + z * self.sun[2]
        return sky_relative(self.kind, z, np.arccos(np.clip(dot, -1, 1)), self.sun_z)

    def radiance(self, d):
        """RGB luminance (cd/m2) towards d."""
        chi = dr.safe_acos(dr.dot(d, triple(mi.Vector3f, self.sun)))
        level = sky_relative(self.kind, d.z, chi, self.sun_z) * self.zenith
        return self.colour * dr.select(d.z > 0, level, 0)

    def pdf(self, d):
        row = dr.minimum(mi.UInt32(dr.safe_asin(dr.maximum(d.z, 0)) * (self.ROWS * 2 / math.pi)), self.ROWS - 1)
        az = dr.atan2(d.x, d.y)
        az = dr.select(az < 0, az + 2 * dr.pi, az)
        col = dr.minimum(mi.UInt32(az * (self.COLS / (2 * math.pi))), self.COLS - 1)
        return dr.select(d.z > 0, dr.gather(mi.Float, self.density, row * self.COLS + col), 0)

    def draw(self, p, sampler):
        cell = self.pick.sample(sampler.next_1d())
        s = sampler.next_2d()
        row, col = cell // self.COLS, cell % self.COLS
        lo, hi = dr.gather(mi.Float, self.edges, row), dr.gather(mi.Float, self.edges, row + 1)
        z = dr.lerp(lo, hi, s.x)
        sin, cos = dr.sincos((mi.Float(col) + s.y) * (2 * math.pi / self.COLS))
        r = dr.safe_sqrt(1 - z * z)
        d = mi.Vector3f(r * sin, r * cos, z)
        pdf = dr.gather(mi.Float, self.density, cell)
        return d, mi.Float(FAR), self.radiance(d) / pdf, pdf


class PointFlash:
    """Even inside one half-angle, falling linearly with the angle to nothing at a second; `intensity` in cd s."""

    def __init__(self, position, azimuth_deg, elevation_deg, even_deg, zero_deg, intensity, colour=(1, 1, 1)):
        self.position = [float(x) for x in position]
        self.axis = direction(azimuth_deg, elevation_deg)
        self.even, self.zero = math.radians(even_deg), math.radians(zero_deg)
        self.intensity = intensity * unit_rgb(colour)

    def beam(self, cos):
        angle = dr.safe_acos(cos)
        if self.zero <= self.even + 1e-6:
            return dr.select(angle <= self.even, mi.Float(1), 0)
        return dr.clip((self.zero - angle) / (self.zero - self.even), 0, 1)

    def draw(self, p, sampler):
        v = triple(mi.Point3f, self.position) - p
        d2 = dr.squared_norm(v)
        dist = dr.sqrt(d2)
        d = v / dist
        w = self.beam(-dr.dot(d, triple(mi.Vector3f, self.axis))) / d2
        return d, dist, triple(mi.Color3f, self.intensity) * w, mi.Float(0)


class AreaFlash:
    """A Lambertian surface (triangles, lit on their front) whose far intensity on its axis is `intensity` cd s."""

    def __init__(self, shape, points, faces, intensity, colour=(1, 1, 1)):
        a, b, c = (points[faces[:, i]] for i in range(3))
        cross = np.cross(b - a, c - a)
        areas = np.linalg.norm(cross, axis=1) / 2
        self.shape, self.area = shape, float(areas.sum())
        # on the axis a bent surface shows its projected area
        axis = cross.sum(0) / np.linalg.norm(cross.sum(0))
        shown = float(np.maximum(cross @ axis, 0).sum() / 2)
        self.radiance = triple(mi.Color3f, (intensity / shown * unit_rgb(colour)))
        self.pick = mi.DiscreteDistribution(mi.Float(areas.astype(np.float32)))
        self.corner = [triple(mi.Point3f, q.T) for q in (a, b, c)]
        self.normal = triple(mi.Vector3f, (cross / (2 * areas)[:, None]).T)

    def pdf_at(self, dist, cos):
        return dr.select(cos > 1e-6, dist * dist / (self.area * cos), 0)

    def draw(self, p, sampler):
        i = self.pick.sample(sampler.next_1d())
        s = sampler.next_2d()
        r = dr.sqrt(s.x)
        a, b, c = (dr.gather(mi.Point3f, q, i) for q in self.corner)
        v = a * (1 - r) + b * (r * (1 - s.y)) + c * (r * s.y) - p
        dist = dr.norm(v)
        d = v / dist
        cos = -dr.dot(d, dr.gather(mi.Vector3f, self.normal, i))
        pdf = self.pdf_at(dist, cos)
        # stop short of the surface by more than the start of a shadow ray is moved off its own
        return d, dist * (1 - 1e-3) - 2e-4, dr.select(pdf > 0, self.radiance / pdf, 0), pdf
