#!/usr/bin/env python3
"""Makes the meter tables again from neutral JSON scenes (their form is described beside them) by path tracing.

    python trace_meters.py scenes/*.json --rel-se 0.003 --out results.csv --compare old_results.csv
"""
import argparse
import csv
import json
import math
import os
import sys
import time

import numpy as np

from lights import PointFlash, Sky, Sun, direction
from scene_build import BLACK, Ellipsoid, Receiver, Surface, World
from tracer import Tracer
from variant import mi

GROUND_HALF_SIZE_M = 1e5
SUN_DIAMETER_DEG = 0.533
COLUMNS = ["scene", "meter", "receptor", "x", "y", "z", "azimuth", "elevation", "ambient_lx", "ambient_se",
           "sun_direct_lx", "sky_direct_lx", "ambient_bounce1_lx", "ambient_bounce1_se", "ambient_bounce2plus_lx",
           "ambient_bounce2plus_se", "flash_lxs", "flash_se", "flash_direct_lxs", "flash_bounce1_lxs",
           "flash_bounce1_se", "flash_bounce2plus_lxs", "flash_bounce2plus_se"]


def frame(centre, x, y, z):
    m = np.eye(4)
    m[:3, 0], m[:3, 1], m[:3, 2], m[:3, 3] = x, y, z, centre
    return mi.ScalarTransform4f(m)


def sheet(e, sides=720):
    """Triangles of a flat rectangle or disc facing its azimuth and elevation; a disc is a polygon of the same area."""
    n = direction(e["azimuth"], e["elevation"])
    a = math.radians(e["azimuth"])
    u = -np.array([math.cos(a), -math.sin(a), 0])                   # u, v, n right-handed
    v = np.cross(n, u)
    c = np.array(e["centre"], float)
    if e.get("shape", "rectangle") == "rectangle":
        w, h = e["width"] / 2, e["height"] / 2
        points = np.array([c - w * u - h * v, c + w * u - h * v, c + w * u + h * v, c - w * u + h * v])
        return points, np.array([[0, 1, 2], [0, 2, 3]])
    t = 2 * math.pi * np.arange(sides) / sides
    r = e["radius"] * math.sqrt(2 * math.pi / (sides * math.sin(2 * math.pi / sides)))
    rim = c + r * (np.cos(t)[:, None] * u + np.sin(t)[:, None] * v)
    i = np.arange(sides)
    return np.vstack([rim, c]), np.stack([np.full(sides, sides), i, (i + 1) % sides], -1)


def finish(side):
    if side["kind"] in ("matt", "black"):
        return {"finish": "matt", "albedo": side.get("albedo", 0.0)}
    if side["kind"] == "metallic":
        return {"finish": "metallic", "alpha": side["alpha"], "reflectance": side["reflectance"]}
    if side["kind"] == "translucent":
        return {"finish": "translucent", "reflectance": side["R"], "transmittance": side["T"]}
    raise ValueError(f"panel side of kind '{side['kind']}'")


def body_shapes(o):
    if o["shape"] == "sphere":
        return [{"type": "sphere", "center": o["centre"], "radius": o["radius"]}]
    x, y, z = o["base"]
    r, h = o["radius"], o["height"]
    if o["shape"] == "cylinder":
        ends = [{"type": "disk", "to_world": frame([x, y, zz], [s * r, 0, 0], [0, r, 0], [0, 0, s])}
                for zz, s in ((z, -1), (z + h, 1))]
        lo, hi = z, z + h
    elif o["shape"] == "capsule":
        lo, hi = z + r, z + h - r
        ends = [{"type": "sphere", "center": [x, y, zz], "radius": r} for zz in (lo, hi)]
    else:
        raise ValueError(f"body of shape '{o['shape']}'")
    return ends + [{"type": "cylinder", "p0": [x, y, lo], "p1": [x, y, hi], "radius": r}]


def build(scene):
    """World and receivers of a neutral scene."""
    out, canopies = [], []

    def matt(name, kind, albedo, shape=None, mesh=(None, None)):
        f = {"finish": "matt", "albedo": albedo}
        out.append(Surface(name, kind, f, f, *mesh, shape))

    if "ground" in scene:
        g = GROUND_HALF_SIZE_M
        matt("ground", "ground", scene["ground"]["reflectance"],
             {"type": "rectangle", "to_world": frame([0, 0, 0], [g, 0, 0], [0, g, 0], [0, 0, 1])})
    for w in scene.get("walls", []):
        if w["shape"] == "box":
            a, (sx, sy, sz) = math.radians(w.get("azimuth", 0)), [s / 2 for s in w["size"]]
            x, y = np.array([math.cos(a), -math.sin(a), 0]), np.array([math.sin(a), math.cos(a), 0])
            matt(w["id"], "wall", w["reflectance"],
                 {"type": "cube", "to_world": frame(w["centre"], x * sx, y * sy, [0, 0, sz])})
        else:
            matt(w["id"], "wall", w["reflectance"], mesh=sheet(w))
    for c in scene.get("canopies", []):
        canopies.append(Ellipsoid(c["centre"], np.diag(1 / np.array(c["radii"])), 0.0, c["reflectance"]))
    for o in scene.get("bodies", []):
        for i, shape in enumerate(body_shapes(o)):
            matt(f"{o['id']} {i}", "body", o["reflectance"], shape)
    for p in scene.get("panels", []):
        out.append(Surface(p["id"], "panel", finish(p["front"]), finish(p["back"]), *sheet(p)))
    for f in scene.get("flashes", []):
        if f["kind"] == "softbox":
            out.append(Surface(f["id"], "softbox", BLACK, BLACK, *sheet(f)))
    world = World(out, extra_canopies=canopies)

    sun, sky = scene.get("sun"), scene.get("sky")
    if sun and sun["normal_illuminance"] > 0:
        world.ambient.append(Sun(sun["azimuth"], sun["elevation"], sun["normal_illuminance"],
                                 SUN_DIAMETER_DEG if sun.get("disc") else 0.0))
    if sky and sky["diffuse_horizontal"] > 0:
        at = sun or {"azimuth": 0, "elevation": 90}
        world.ambient.append(Sky(sky["cie_type"], sky["diffuse_horizontal"], sky.get("sun_azimuth", at["azimuth"]),
                                 sky.get("sun_elevation", at["elevation"])))
    for f in scene.get("flashes", []):
        if f["kind"] == "point":
            world.flash.append(PointFlash(f["position"], f["azimuth"], f["elevation"], f["a1"], f["a2"],
                                          2.5 * f["guide_number"] ** 2 * f["power"]))
        else:
            world.flash.append(world.area_flash(f["id"], f["h_1m"]))
    m = scene["meters"]
    return world, Receiver(np.array([x["position"] for x in m], float),
                           np.array([direction(x["azimuth"], x["elevation"]) for x in m]),
                           np.array([x["receptor"] == "dome" for x in m]))


def trace(scene, rel_se, most, seed):
    world, receiver = build(scene)
    rows = [dict.fromkeys(COLUMNS, 0.0) | dict(
        scene=scene["name"], meter=m["id"], receptor=m["receptor"], x=m["position"][0], y=m["position"][1],
        z=m["position"][2], azimuth=m["azimuth"], elevation=m["elevation"]) for m in scene["meters"]]
    samples = 0
    for group, unit, lights, floor in (("ambient", "lx", world.ambient, .5), ("flash", "lxs", world.flash, .01)):
        if not lights:
            continue
        t = Tracer(world, lights, receiver, seed)
        total, se = t.until(lambda mean: rel_se * np.maximum(mean, floor), 16384, most,
                            lambda s: print(f"   {group}: {s}", file=sys.stderr))
        parts = [t.part(k) for k in range(4)]
        samples += t.samples.sum()
        for i, r in enumerate(rows):
            r[f"{group}_{unit}"], r[f"{group}_se"] = total[i], se[i]
            if group == "ambient":
                r["sun_direct_lx"], r["sky_direct_lx"] = parts[0][0][i], parts[1][0][i]
            else:
                r["flash_direct_lxs"] = parts[1][0][i]
            for k, name in ((2, "bounce1"), (3, "bounce2plus")):
                r[f"{group}_{name}_{unit}"], r[f"{group}_{name}_se"] = (float(x[i]) for x in parts[k])
    return rows, samples


def compare(rows, path):
    """Prints the differences from another such table; returns (compared, worst and rms in joint standard errors)."""
    with open(path, newline="") as f:
        old = {(r["scene"], r["meter"]): r for r in csv.DictReader(f)}
    z = []
    print(f"{'scene':24}{'meter':22}{'':8}{'here':>11}{'there':>11}{'diff %':>8}{'in se':>7}")
    for r in rows:
        o = old.get((r["scene"], r["meter"]))
        if o is None:
            print(f"{r['scene']:24}{r['meter']:22}not in {path}")
            continue
        for group, unit in (("ambient", "lx"), ("flash", "lxs")):
            a, b = r[f"{group}_{unit}"], float(o[f"{group}_{unit}"])
            se = math.hypot(r[f"{group}_se"], float(o[f"{group}_se"]))
            if a == b == 0:
                continue
            d = (a - b) / max(se, 2e-5 * abs(b), 1e-12)             # the table is printed to six digits
            z.append(d)
            print(f"{r['scene']:24}{r['meter']:22}{group:8}{a:11.5g}{b:11.5g}{100 * (a / b - 1) if b else math.nan:8.2f}{d:7.1f}")
    z = np.array(z)
    return len(z), float(np.abs(z).max(initial=0)), float(np.sqrt(np.mean(z * z))) if len(z) else 0.0


def main():
    ap = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ap.add_argument("scenes", nargs="+")
    ap.add_argument("--rel-se", type=float, default=0.003, help="relative standard error of every meter's totals")
    ap.add_argument("--max-samples", type=int, default=1 << 23, help="at most so many a meter")
    ap.add_argument("--out", help="CSV of the results")
    ap.add_argument("--compare", help="another results.csv; exit code 1 beyond 4 joint standard errors")
    ap.add_argument("--seed", type=int, default=1)
    a = ap.parse_args()
    rows = []
    for path in a.scenes:
        with open(path) as f:
            scene = json.load(f)
        scene.setdefault("name", os.path.splitext(os.path.basename(path))[0])
        start = time.time()
        r, samples = trace(scene, a.rel_se, a.max_samples, a.seed)
        rows += r
        print(f"{scene['name']}: {len(r)} meters, {int(samples)} samples, {time.time() - start:.1f} s", flush=True)
    if a.out:
        with open(a.out, "w", newline="") as f:
            w = csv.writer(f)
            w.writerow(COLUMNS)
            w.writerows([[f"{r[k]:.6g}" if isinstance(r[k], float) else r[k] for k in COLUMNS] for r in rows])
    if a.compare:
        n, worst, rms = compare(rows, a.compare)
        print(f"{n} values compared: worst {worst:.1f}, rms {rms:.2f} joint standard errors")
        return 1 if worst > 4 or n == 0 else 0
    return 0


if __name__ == "__main__":
    sys.exit(main())
