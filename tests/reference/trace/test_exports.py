"""Exports written by hand for self_test.py: a sphere as a head, flat sheets, and the pieces of index.json."""
import json
import math
import os

import numpy as np

import ply
from lights import direction

BLACK = {"finish": "matt", "albedo": 0.0}
RADIUS_M = 0.11
OUT_M = 0.0005


def matt(albedo):
    return {"finish": "matt", "albedo": albedo}


def icosphere(levels):
    """Unit vectors (V, 3) and faces (F, 3), outward."""
    g = (1 + 5 ** .5) / 2
    v = np.array([[-1, g, 0], [1, g, 0], [-1, -g, 0], [1, -g, 0], [0, -1, g], [0, 1, g], [0, -1, -g], [0, 1, -g],
                  [g, 0, -1], [g, 0, 1], [-g, 0, -1], [-g, 0, 1]])
    f = np.array([[0, 11, 5], [0, 5, 1], [0, 1, 7], [0, 7, 10], [0, 10, 11], [1, 5, 9], [5, 11, 4], [11, 10, 2],
                  [10, 7, 6], [7, 1, 8], [3, 9, 4], [3, 4, 2], [3, 2, 6], [3, 6, 8], [3, 8, 9], [4, 9, 5], [2, 4, 11],
                  [6, 2, 10], [8, 6, 7], [9, 8, 1]])
    v = v / np.linalg.norm(v, axis=1)[:, None]
    for _ in range(levels):
        edges = np.sort(np.concatenate([f[:, [0, 1]], f[:, [1, 2]], f[:, [2, 0]]]), 1)
        unique, at = np.unique(edges, axis=0, return_inverse=True)
        mid = v[unique].sum(1)
        mid /= np.linalg.norm(mid, axis=1)[:, None]
        a, b, c = (at.ravel().reshape(3, -1) + len(v))
        v = np.vstack([v, mid])
        f = np.concatenate([np.stack(t, -1) for t in ((f[:, 0], a, c), (f[:, 1], b, a), (f[:, 2], c, b), (a, b, c))])
    return v, f


def rectangle(centre, azimuth_deg, elevation_deg, width, height, cells=1):
    """Points and faces of a rectangle facing this way, cut into cells by cells pieces; and its (u, v, n)."""
    n = direction(azimuth_deg, elevation_deg)
    a = math.radians(azimuth_deg)
    u = -np.array([math.cos(a), -math.sin(a), 0])
    v = np.cross(n, u)
    s = np.linspace(-.5, .5, cells + 1)
    y, x = np.meshgrid(s, s, indexing="ij")
    points = np.array(centre, float) + x.reshape(-1, 1) * width * u + y.reshape(-1, 1) * height * v
    i = (np.arange(cells)[:, None] * (cells + 1) + np.arange(cells)).ravel()
    faces = np.concatenate([np.stack([i, i + 1, i + cells + 2], -1), np.stack([i, i + cells + 2, i + cells + 1], -1)])
    return points, faces, (u, v, n)


class Builder:
    """Collects one export; `head` and `meter` take what the tracer should find."""

    def __init__(self):
        self.index = {"format": 1, "surfaces": [], "sun": None, "sky": None, "flashes": [], "meters": [],
                      "continuous_unit": "lux", "flash_unit": "lux second"}
        self.files = []

    def surface(self, name, kind, points, faces, front, back, more=None, normals=None):
        if normals is None:
            a, b, c = (points[faces[:, i]] for i in range(3))
            n = np.cross(b - a, c - a)
            normals = np.zeros_like(points)
            for i in range(3):
                np.add.at(normals, faces[:, i], n)
            normals /= np.linalg.norm(normals, axis=1)[:, None]
        vertex = dict(zip(("x", "y", "z", "nx", "ny", "nz"), np.hstack([points, normals]).T)) | (more or {})
        file = f"{len(self.files):02d}-{name}.ply"
        self.files.append((file, vertex, faces))
        self.index["surfaces"].append({"file": file, "name": name, "kind": kind, "front": front, "back": back})
        return file

    def ground(self, albedo, half=1e5):
        p = np.array([[-half, -half, 0], [half, -half, 0], [half, half, 0], [-half, half, 0]])
        return self.surface("ground", "ground", p, np.array([[0, 1, 2], [0, 2, 3]]), matt(albedo), matt(albedo))

    def head(self, centre, ambient=None, flash=None, facing=(0, 1, 0), levels=3, albedo=0.0):
        """A sphere whose `front` is the half towards `facing`; ambient, flash: functions of points and normals."""
        n, faces = icosphere(levels)
        points = np.array(centre, float) + RADIUS_M * n
        at = points + OUT_M * n
        none = np.zeros(len(n))
        more = {"front": (n @ np.array(facing, float) > .1).astype(float),
                "ambient_lux": none if ambient is None else ambient(at, n),
                "flash_lux_s": none if flash is None else flash(at, n)}
        return self.surface("head", "head", points, faces, matt(albedo), matt(albedo), more, n)

    def meter(self, name, position, azimuth_deg, elevation_deg, receptor, ambient=0.0, flash=0.0):
        self.index["meters"].append({"name": name, "position_m": list(position), "azimuth_deg": azimuth_deg,
                                     "elevation_deg": elevation_deg, "receptor": receptor,
                                     "ambient_lux": float(ambient), "flash_lux_s": float(flash)})

    def sun(self, azimuth_deg, elevation_deg, lux, diameter_deg=0.0, rgb=(1, 1, 1)):
        self.index["sun"] = {"azimuth_deg": azimuth_deg, "elevation_deg": elevation_deg, "direct_normal_lux": lux,
                             "diameter_deg": diameter_deg, "rgb": list(rgb)}
        return direction(azimuth_deg, elevation_deg)

    def sky(self, kind, lux, azimuth_deg=0.0, elevation_deg=90.0, rgb=(1, 1, 1)):
        self.index["sky"] = {"cie_type": kind, "horizontal_lux": lux, "sun_azimuth_deg": azimuth_deg,
                             "sun_elevation_deg": elevation_deg, "rgb": list(rgb)}

    def point_flash(self, position, azimuth_deg, elevation_deg, even_deg, zero_deg, level):
        self.index["flashes"].append({"name": "flash", "kind": "point", "position_m": list(position),
                                      "azimuth_deg": azimuth_deg, "elevation_deg": elevation_deg,
                                      "even_half_angle_deg": even_deg, "zero_half_angle_deg": zero_deg,
                                      "axis_lux_s_at_1m": level, "rgb": [1, 1, 1]})

    def area_flash(self, file, level):
        self.index["flashes"].append({"name": "softbox", "kind": "area", "file": file, "axis_lux_s_at_1m": level,
                                      "rgb": [1, 1, 1]})

    def write(self, folder, binary=True):
        os.makedirs(folder, exist_ok=True)
        for file, vertex, faces in self.files:
            ply.write(os.path.join(folder, file), vertex, faces, binary)
        with open(os.path.join(folder, "index.json"), "w", encoding="utf-8") as f:
            json.dump(self.index, f, indent=1)
