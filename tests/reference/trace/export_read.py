"""Reads an export (index.json and its PLY files) into a world to trace, its heads and its meters. One clear error for
whatever does not fit: file, place, what would be right."""
import json
import os
from dataclasses import dataclass

import numpy as np

import ply
from lights import PointFlash, Sky, Sun, direction
from scene_build import Receiver, Surface, World

KINDS = ("ground", "water", "wall", "solid", "canopy", "body", "head", "hair", "glasses", "panel", "softbox", "stand")
LIFT_M = 0.001                              # zones of the ground in one plane are raised by this, the later the higher
OUT_M = 0.0005                              # a vertex is measured this far out along its normal
FIELDS = {"matt": ("albedo",), "metallic": ("alpha", "reflectance"), "translucent": ("transmittance", "reflectance"),
          "water": ("index", "roughness", "body_albedo"), "gap": ("fraction", "albedo")}


class ExportError(ValueError):
    """An export that does not have the documented form."""


@dataclass
class Head:
    name: str
    points: np.ndarray
    normals: np.ndarray
    front: np.ndarray                       # (V,) bool
    weight: np.ndarray                      # (V,) square metres
    ours: dict                              # group -> (V,) lux or lux seconds
    notes: list


@dataclass
class Export:
    world: World
    heads: list
    meters: list                            # as in index.json
    receiver: Receiver                      # of the meters, or None


def _need(value, place, *keys):
    if not isinstance(value, dict):
        raise ExportError(f"{place}: an object is wanted, with {', '.join(keys)}")
    for k in keys:
        if k not in value:
            raise ExportError(f"{place}: '{k}' is missing")
    return [value[k] for k in keys]


def _finish(f, place):
    kind = _need(f, place, "finish")[0]
    if kind not in FIELDS:
        raise ExportError(f"{place}: finish '{kind}'; known are {', '.join(FIELDS)}")
    _need(f, place, *FIELDS[kind])
    return f


def _head(name, path, vertex, points, faces):
    missing = [k for k in ("nx", "ny", "nz", "front", "ambient_lux", "flash_lux_s") if k not in vertex]
    if missing:
        raise ExportError(f"{path}: a head needs the vertex properties {', '.join(missing)}")
    normals = ply.columns(vertex, ("nx", "ny", "nz"))
    length = np.linalg.norm(normals, axis=1)
    if np.any(np.abs(length - 1) > 1e-2):
        raise ExportError(f"{path}: {int((np.abs(length - 1) > 1e-2).sum())} vertex normals are not of length 1")
    normals /= length[:, None]
    front = vertex["front"] > 0
    if not np.isin(vertex["front"], (0, 1)).all() or not front.any():
        raise ExportError(f"{path}: 'front' must be 0 or 1, and 1 at some vertex")
    ours = {"ambient": vertex["ambient_lux"], "flash": vertex["flash_lux_s"]}
    for k, v in ours.items():
        if not np.isfinite(v).all() or v.min() < 0:
            raise ExportError(f"{path}: our own {k} values must be finite and not negative")
    notes = []
    a, b, c = (points[faces[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    wound = np.einsum("ij,ij->i", cross, normals[faces].sum(1)) > 0
    if wound.mean() < .5:
        raise ExportError(f"{path}: triangles are wound clockwise seen from the side that the normals point to")
    if not wound.all():
        notes.append(f"{int((~wound).sum())} of {len(faces)} triangles face away from their vertices' normals")
    if np.einsum("ij,ij->i", a, cross).sum() - points.mean(0) @ cross.sum(0) < 0:
        raise ExportError(f"{path}: the mesh is turned inside out (its volume is negative)")
    # fronts of a face look to one side: their mean normal must be a direction
    weight = ply.vertex_areas(points, faces)
    mean = (normals[front] * weight[front, None]).sum(0) / weight[front].sum()
    if np.linalg.norm(mean) < .2:
        notes.append("the normals of the front cancel out: are these flags the front of a face?")
    return Head(name, points, normals, front, weight, ours, notes)


def read(folder):
    path = os.path.join(folder, "index.json")
    try:
        with open(path, encoding="utf-8") as f:
            index = json.load(f)
    except (OSError, ValueError) as e:
        raise ExportError(f"{path}: {e}") from e
    if _need(index, path, "format")[0] != 1:
        raise ExportError(f"{path}: format {index['format']}; 1 is read")
    _need(index, path, "surfaces", "sun", "sky", "flashes", "meters")
    surfaces, heads, by_file, levels = [], [], {}, {}
    for i, s in enumerate(index["surfaces"]):
        place = f"{path}: surfaces[{i}]"
        file, name, kind, front, back = _need(s, place, "file", "name", "kind", "front", "back")
        if kind not in KINDS:
            raise ExportError(f"{place}: kind '{kind}'; known are {', '.join(KINDS)}")
        where = os.path.join(folder, os.path.basename(file))
        try:
            vertex, faces = ply.read(where)
        except OSError as e:
            raise ExportError(f"{place}: {e}") from e
        points = ply.columns(vertex, "xyz")
        if not np.isfinite(points).all():
            raise ExportError(f"{where}: a vertex position is not finite")
        by_file[file] = file
        if kind in ("ground", "water") and np.ptp(points[:, 2]) < 1e-6:
            z = round(float(points[0, 2]), 5)
            points[:, 2] += LIFT_M * levels.get(z, 0)
            levels[z] = levels.get(z, 0) + 1
        surfaces.append(Surface(file, kind, _finish(front, place + ".front"), _finish(back, place + ".back"), points, faces))
        if kind == "head":
            heads.append(_head(name, where, vertex, points, faces))
    world = World(surfaces)
    if index["sun"]:
        az, el, lux, size = _need(index["sun"], f"{path}: sun", "azimuth_deg", "elevation_deg", "direct_normal_lux", "diameter_deg")
        if lux > 0:
            world.ambient.append(Sun(az, el, lux, size, index["sun"].get("rgb", (1, 1, 1))))
    if index["sky"]:
        kind, lux, az, el = _need(index["sky"], f"{path}: sky", "cie_type", "horizontal_lux", "sun_azimuth_deg", "sun_elevation_deg")
        if lux > 0:
            world.ambient.append(Sky(kind, lux, az, el, index["sky"].get("rgb", (1, 1, 1))))
    for i, f in enumerate(index["flashes"]):
        place = f"{path}: flashes[{i}]"
        kind, level = _need(f, place, "kind", "axis_lux_s_at_1m")
        colour = f.get("rgb", (1, 1, 1))
        if kind == "point":
            at, az, el, even, zero = _need(f, place, "position_m", "azimuth_deg", "elevation_deg", "even_half_angle_deg",
                                           "zero_half_angle_deg")
            world.flash.append(PointFlash(at, az, el, even, zero, level, colour))
        elif kind == "area":
            file = _need(f, place, "file")[0]
            if file not in by_file:
                raise ExportError(f"{place}: file '{file}' is not among the surfaces")
            world.flash.append(world.area_flash(file, level, colour))
        else:
            raise ExportError(f"{place}: kind '{kind}'; point or area is read")
    receiver = None
    if index["meters"]:
        for i, m in enumerate(index["meters"]):
            _need(m, f"{path}: meters[{i}]", "name", "position_m", "azimuth_deg", "elevation_deg", "receptor",
                  "ambient_lux", "flash_lux_s")
            if m["receptor"] not in ("flat", "dome"):
                raise ExportError(f"{path}: meters[{i}]: receptor '{m['receptor']}'; flat or dome is read")
        receiver = Receiver(np.array([m["position_m"] for m in index["meters"]], float),
                            np.array([direction(m["azimuth_deg"], m["elevation_deg"]) for m in index["meters"]]),
                            np.array([m["receptor"] == "dome" for m in index["meters"]]))
    return Export(world, heads, index["meters"], receiver)


def vertices(heads, every):
    """One receiver of all traced vertices, with their head's number and their own: flat, OUT_M out along the normal."""
    parts = [(np.full(len(i), k), i) for k, h in enumerate(heads)
             for i in [np.arange(len(h.points)) if every else np.flatnonzero(h.front)]]
    owner, index = (np.concatenate([p[j] for p in parts]) for j in (0, 1))
    at = np.concatenate([heads[k].points[i[1]] + OUT_M * heads[k].normals[i[1]] for k, i in enumerate(parts)])
    n = np.concatenate([heads[k].normals[i[1]] for k, i in enumerate(parts)])
    return Receiver(at, n, np.zeros(len(at), bool)), owner, index
