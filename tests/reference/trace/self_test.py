#!/usr/bin/env python3
"""Checks the tracer against answers known on paper: writes exports by hand, traces them, holds the trace to 1 %.

    python self_test.py [NAME ...]

Every check says what its answer is: a closed form, or a quadrature of the stated formulas in double precision."""
import math
import os
import sys
import tempfile
import time

import numpy as np

import export_read
import lights
import test_exports as te
import trace_export
from test_exports import BLACK, Builder, matt
from tracer import Tracer
from variant import dr, mi

TOLERANCE_PCT = 1.0
HIGH = (0.0, 0.0, 50.0)                 # so high that a head's own shadow on the ground weighs nothing
TEST_RGB = np.array([1.2, .9, .5])
Y = np.array([.2126, .7152, .0722])


def over_sheet(frame, centre, width, height, luminance, cells=96):
    """Irradiance from a flat source: luminance(points on it, directions from it) integrated by Gauss-Legendre."""
    u, v, n = frame
    x, w = np.polynomial.legendre.leggauss(cells)
    q = centre + (x[:, None, None] * width / 2 * u + x[None, :, None] * height / 2 * v).reshape(-1, 3)
    weight = (w[:, None] * w[None, :]).ravel() * width * height / 4

    def irradiance(p, normals):
        out = np.zeros(len(p))
        for i in range(len(p)):
            d = p[i] - q
            r2 = (d * d).sum(1)
            d /= np.sqrt(r2)[:, None]
            out[i] = np.sum(weight * luminance(q, d) * np.maximum(d @ n, 0) * np.maximum(-d @ normals[i], 0) / r2)
        return out
    return irradiance


def over_directions(luminance, n=256):
    """Irradiance from everywhere: luminance(points, one direction) summed over the sphere (midpoint in z and azimuth)."""
    z = (np.arange(n) + .5) / n * 2 - 1
    a = (np.arange(2 * n) + .5) * math.pi / n

    def irradiance(p, normals):
        out = np.zeros(len(p))
        for zz in z:
            r = math.sqrt(1 - zz * zz)
            for aa in a:
                d = np.array([r * math.sin(aa), r * math.cos(aa), zz])
                c = normals @ d
                up = c > 0
                out[up] += c[up] * luminance(p[up], d)
        return out * (2 / n) * (math.pi / n)
    return irradiance


def ggx(alpha, reflectance, n, wi, wo):
    """Metallic f as light.md and Mitsuba's roughconductor have it, for unit vectors away from the surface."""
    ci, co = wi @ n, wo @ n
    h = wi + wo
    h /= np.linalg.norm(h, axis=-1)[..., None]
    ch2 = np.maximum(h @ n, 1e-9) ** 2
    d = alpha ** 2 / (math.pi * (ch2 * (alpha ** 2 - 1) + 1) ** 2)

    def g1(c):
        return 2 / (1 + np.sqrt(1 + alpha ** 2 * (1 / np.maximum(c, 1e-9) ** 2 - 1)))
    f = reflectance(np.sum(h * wo, -1)) if callable(reflectance) else reflectance
    return np.where((ci > 0) & (co > 0), f * d * g1(ci) * g1(co) / (4 * np.maximum(ci * co, 1e-12)), 0)


def fresnel(index):
    def f(c):
        t = np.sqrt(1 - (1 - c * c) / index ** 2)
        s, p = (c - index * t) / (c + index * t), (index * c - t) / (index * c + t)
        return (s * s + p * p) / 2
    return f


# -- the checks: each returns an export whose "own" answers are what is known on paper ---------------------------

def uniform_sky():
    """closed form: a uniform sky over a matt ground, on a sphere"""
    b = Builder()
    b.ground(.35)
    b.sky(5, 10000)
    b.head(HIGH, lambda p, n: 10000 * ((1 + n[:, 2]) / 2 + .35 * (1 - n[:, 2]) / 2))
    b.meter("flat up", HIGH[:2] + (51,), 0, 90, "flat", 10000)
    b.meter("dome level", (3, 0, 50), 90, 0, "dome", 10000 * (1 + .35))
    return b


def ground_zones():
    """closed form: two ground sheets in one plane, of which the second is seen, a mesh of huge triangles"""
    b = Builder()
    b.ground(.1)
    p, f, _ = te.rectangle((0, 0, 0), 180, 90, 1e5, 1e5, 5)
    b.surface("sand", "ground", p, f, matt(.4), matt(.4))
    s = b.sun(200, 35, 50000)
    b.sky(5, 10000)
    level = .4 * (10000 + 50000 * s[2])
    b.meter("facing down", (.3, .2, 1.5), 0, -90, "flat", level)
    b.meter("level", (.3, .2, 1.5), 20, 0, "flat", 5000 + level / 2)
    b.meter("near the ground", (-2, 3, .02), 20, 0, "flat", 5000 + level / 2)
    return b


def cie_sky():
    """quadrature: CIE type 12 with a low sun, no ground, on a sphere"""
    sun, b = lights.direction(70, 25), Builder()
    b.sky(12, 12000, 70, 25)

    def level(d):
        if d[2] <= 0:
            return 0.0
        chi = math.acos(np.clip(d @ sun, -1, 1))
        return (1 - math.exp(-.32 / d[2])) * (1 + 10 * (math.exp(-3 * chi) - math.exp(-1.5 * math.pi)) + .45 * math.cos(chi) ** 2)
    total = over_directions(lambda p, d: level(d))(np.zeros((1, 3)), np.array([[0, 0, 1.0]]))[0]
    b.head(HIGH, over_directions(lambda p, d: 12000 * level(d) / total), levels=2)
    return b


def sun_disc():
    """closed form: sun with its disc over a matt ground, on a sphere"""
    b = Builder()
    b.ground(.2)
    s = b.sun(120, 30, 60000, .533)
    b.head(HIGH, lambda p, n: 60000 * np.maximum(n @ s, 0) + .2 * 60000 * s[2] * (1 - n[:, 2]) / 2)
    return b


def sun_direction():
    """closed form: sun as one direction, coloured, with a meter behind a wall"""
    b = Builder()
    s = b.sun(0, 45, 50000, 0, TEST_RGB)
    p, f, _ = te.rectangle((0, 2, 1), 180, 0, 2, 2)
    b.surface("wall", "wall", p, f, BLACK, BLACK)
    b.head((0, 0, 3.5), lambda p, n: 50000 * np.maximum(n @ s, 0))
    b.meter("shaded", (0, 1, .5), 0, 45, "flat", 0)
    b.meter("lit", (0, 1, 1.2), 0, 0, "flat", 50000 * math.sqrt(.5))
    return b


def point_flash():
    """closed form: a point flash whose beam ends across the sphere"""
    b = Builder()
    at = np.array([.1, 2.0, 1.6])
    b.point_flash(at, 180, 0, 1.5, 6, 300)

    def lit(p, n):
        v = at - p
        r = np.linalg.norm(v, axis=1)
        angle = np.degrees(np.arccos(np.clip(v[:, 1] / r, -1, 1)))
        return 300 * np.clip((6 - angle) / 4.5, 0, 1) * np.maximum(np.sum(v * n, 1) / r, 0) / r ** 2
    b.head((0, 0, 1.6), flash=lit)
    return b


def softbox():
    """quadrature: a softbox near the sphere, and nothing behind it"""
    b = Builder()
    c = np.array([.5, .9, 2.0])
    p, f, frame = te.rectangle(c, 209, -22, .6, .9, 3)
    b.area_flash(b.surface("softbox", "softbox", p, f, BLACK, BLACK), 400)
    b.head((0, 0, 1.6), flash=over_sheet(frame, c, .6, .9, lambda q, d: np.full(len(q), 400 / .54)))
    b.meter("behind", (1, 1.8, 2.4), 209, -22, "flat", flash=0)
    return b


def matt_panel():
    """quadrature: a coloured panel in a coloured sun; its black back lights nothing"""
    b = Builder()
    s = b.sun(180, 20, 50000, 0, TEST_RGB)
    albedo = np.array([.9, .8, .6])
    level = 50000 / math.pi * float(Y @ (TEST_RGB * albedo) / (Y @ TEST_RGB))
    c = np.array([.6, 1.0, 1.4])
    p, f, frame = te.rectangle(c, 205, 10, 1.0, 1.4, 4)
    b.surface("panel", "panel", p, f, matt(albedo.tolist()), BLACK)
    sheet = over_sheet(frame, c, 1.0, 1.4, lambda q, d: np.full(len(q), level * (frame[2] @ s)))
    b.head((0, 0, 1.6), lambda p, n: sheet(p, n) + 50000 * np.maximum(n @ s, 0))
    b.meter("behind", (.95, 1.75, 1.27), 205, 10, "flat", 0)        # in its shade, facing its black back
    return b


def metallic_panel():
    """quadrature: GGX panel and a point flash"""
    b = Builder()
    at, c = np.array([-.8, -2.0, 1.8]), np.array([0, 2.0, 1.5])
    p, f, frame = te.rectangle(c, 180, 3, .9, .9)
    b.surface("panel", "panel", p, f, {"finish": "metallic", "alpha": .25, "reflectance": [.85, .85, .85]}, matt(.5))
    b.point_flash(at, 20, -5, 40, 60, 500)

    def level(q, d):
        v = at - q
        r = np.linalg.norm(v, axis=1)
        wi = v / r[:, None]
        return ggx(.25, .85, frame[2], wi, d) * 500 * np.maximum(wi @ frame[2], 0) / r ** 2
    sheet = over_sheet(frame, c, .9, .9, level)
    b.head((.5, 0, 1.6), flash=lambda p, n: sheet(p, n) + _pointlit(at, 500, p, n))
    return b


def _pointlit(at, level, p, n):
    v = at - p
    r = np.linalg.norm(v, axis=1)
    return level * np.maximum(np.sum(v * n, 1), 0) / r ** 3


def translucent_sheet():
    """quadrature: a thin sheet between sun and sphere, which lies in its shade"""
    b = Builder()
    s = b.sun(20, 50, 80000)
    c = np.array([0, 0, 1.6]) + .7 * s
    p, f, frame = te.rectangle(c, 200, -50, 1.2, 1.2)
    b.surface("sheet", "panel", p, f, *[{"finish": "translucent", "transmittance": .48, "reflectance": .38}] * 2)
    below = over_sheet(frame, c, 1.2, 1.2, lambda q, d: np.full(len(q), .48 * 80000 / math.pi))
    b.head((0, 0, 1.6), below)
    b.meter("sun side", tuple(c + .4 * s), 200, -50, "flat",
            over_sheet((frame[0], -frame[1], -frame[2]), c, 1.2, 1.2,
                       lambda q, d: np.full(len(q), .38 * 80000 / math.pi))((c + .4 * s)[None], -s[None])[0])
    return b


def water_glitter():
    """quadrature: low sun over water of index 1.33 and a dark body"""
    b = Builder()
    s = b.sun(10, 12, 40000)
    water = {"finish": "water", "index": 1.33, "roughness": .15, "body_albedo": [.03, .03, .03]}
    h = 1e5
    b.surface("lake", "water", np.array([[-h, -h, 0], [h, -h, 0], [h, h, 0], [-h, h, 0]]), np.array([[0, 1, 2], [0, 2, 3]]), water, water)
    up = np.array([0, 0, 1.0])

    def level(p, d):
        if d[2] >= 0:
            return 0.0
        return float(ggx(.15, fresnel(1.33), up, s, -d) + .03 / math.pi) * 40000 * s[2]
    glow = over_directions(level, 512)
    b.head(HIGH, lambda p, n: glow(p, n) + 40000 * np.maximum(n @ s, 0), levels=2)
    return b


def gap_canopy():
    """quadrature: sun and uniform sky through and off a canopy with gaps, its mesh turned about the vertical"""
    b = Builder()
    s = b.sun(30, 60, 30000)
    b.sky(5, 9000)
    centre, radii, g, albedo = np.array([.5, .8, 4.5]), np.array([2.0, 1.2, 1.0]), .3, .15
    n, f = te.icosphere(4)
    turn = np.array([[.8, -.6, 0], [.6, .8, 0], [0, 0, 1]])
    gap = {"finish": "gap", "fraction": g, "albedo": albedo}
    b.surface("canopy", "canopy", n * radii @ turn.T + centre, f, gap, gap)

    def crossing(p, d):
        """Share that passes, and the outward normal where the ray enters."""
        o, e = (p - centre) @ turn / radii, (d @ turn) / radii
        ee = e @ e
        m = -(o @ e) / ee
        disc = 1 - np.sum((o + m[:, None] * e) ** 2, 1)
        half = np.sqrt(np.maximum(disc, 0) / ee)
        hit = (disc > 0) & (m > 0)
        passed = np.where(hit, g ** (half * math.sqrt(ee)), 1)      # 2 half / (2 / |e|)
        normal = ((o + (m - half)[:, None] * e) / radii) @ turn.T
        return passed, normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-9)[:, None]

    def level(p, d):
        passed, m = crossing(p, d)
        lit = 9000 * (1 + m[:, 2]) / 2 + 30000 * np.maximum(m @ s, 0)
        return passed * (9000 / math.pi if d[2] > 0 else 0) + (1 - passed) * albedo / math.pi * lit
    around = over_directions(level)
    b.head((0, 0, 1.6), lambda p, n: around(p, n) + 30000 * np.maximum(n @ s, 0) * crossing(p, s)[0], levels=2)
    return b


def integrating_sphere():
    """closed form: all bounces in a closed sphere of albedo 0.8 with a bare point source in the middle"""
    b = Builder()
    n, f = te.icosphere(5)
    b.surface("shell", "solid", n * 3.0, f[:, ::-1], matt(.8), BLACK)
    b.point_flash((0, 0, 0), 0, 0, 180, 180, 100)
    spread = .8 / (1 - .8) * 100 / 9
    for name, at, az in (("towards", (0, 1.2, 0), 180), ("away", (0, 1.2, 0), 0), ("aside", (.8, .9, 1.0), 90)):
        facing, p = lights.direction(az, 0), np.array(at)
        b.meter(name, at, az, 0, "flat", flash=spread + 100 * max(-(p @ facing), 0) / np.linalg.norm(p) ** 3)
    return b


EXPORTS = (uniform_sky, ground_zones, cie_sky, sun_disc, sun_direction, point_flash, softbox, matt_panel, metallic_panel,
           translucent_sheet, water_glitter, gap_canopy, integrating_sphere)


def traced(builder, folder, *options, binary=True):
    builder.write(folder, binary)
    out = os.path.join(folder, "summary.csv")
    code = trace_export.main([folder, "--quiet", "--out", out, *options])
    return code, np.genfromtxt(out, delimiter=",", names=True, dtype=None, encoding="utf-8") if code < 2 else None


def check_export(make, folder):
    """Largest difference in per cent (mean and noise-free rms of the head, every meter), after printing the tables."""
    code, table = traced(make(), folder, "--rel-se", ".02", "--meter-rel-se", ".002", "--mean-tol", str(TOLERANCE_PCT),
                         "--rms-tol", str(1.5 * TOLERANCE_PCT), "--meter-tol", str(TOLERANCE_PCT),
                         binary=make is not softbox)
    return code == 0


# -- checks of the comparing itself ------------------------------------------------------------------------------

def spot_is_linear(folder):
    """Mitsuba's own `spot` falls linearly with the angle, and so does PointFlash"""
    spot = mi.load_dict({"type": "spot", "beam_width": 25.0, "cutoff_angle": 38.0, "intensity": {"type": "rgb", "value": 1.0}})
    flash = lights.PointFlash((0, 0, 0), 0, 90, 25, 38, 1)
    angle = np.radians(np.arange(0, 45, .25))
    it = dr.zeros(mi.SurfaceInteraction3f, len(angle))
    it.p = mi.Point3f(mi.Float(np.sin(angle)), 0, mi.Float(np.cos(angle)))
    _, w = spot.sample_direction(it, mi.Point2f(.5, .5))
    linear = np.clip((38 - np.degrees(angle)) / 13, 0, 1)
    off = np.abs(np.array(w.x) - linear).max(), np.abs(np.array(flash.beam(mi.Float(np.cos(angle)))) - linear).max()
    print(f"largest difference from the straight line: spot {off[0]:.1e}, ours {off[1]:.1e}")
    return max(off) < 1e-4


def differences_are_found(folder):
    """own answers 6 % too high, or scattered by 12 %, or off at a meter, must be told, by the right size"""
    good = True
    for name, change, column, wanted in (
            ("mean", lambda e, i: e * 1.06, "mean_diff_pct", 6.0),
            ("rms", lambda e, i: e * (1 + .12 * (-1.0) ** i), "rms_pct", 12.0)):
        b = Builder()
        b.sky(5, 10000)
        b.head(HIGH, lambda p, n: change(5000 * (1 + n[:, 2]), np.arange(len(n))), facing=(0, 0, 1))
        code, table = traced(b, os.path.join(folder, name), "--rel-se", ".02")
        found = float(np.atleast_1d(table[column])[0])
        print(f"{name}: {found:.2f} found, about {wanted} put in, exit code {code}")
        good &= code == 1 and abs(found - wanted) < .8
    return good


def broken_exports(folder):
    """each broken export is refused with one line and exit code 2"""
    def inside_out(b):
        b.files[0] = (b.files[0][0], b.files[0][1], b.files[0][2][:, ::-1])

    def long_normals(b):
        b.files[0][1]["nx"] = b.files[0][1]["nx"] * 2

    def no_front(b):
        b.files[0][1]["front"] = b.files[0][1]["front"] * 0

    def bad_finish(b):
        b.index["surfaces"][0]["front"] = {"finish": "velvet"}

    def no_file(b):
        b.index["surfaces"][0]["file"] = "missing.ply"

    def box_canopy(b):
        gap = {"finish": "gap", "fraction": .2, "albedo": .1}
        p = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1, .5)], float)
        b.surface("box", "canopy", p, np.array([[0, 1, 2], [3, 4, 5], [6, 7, 8]]), gap, gap, normals=np.tile([0, 0, 1.0], (12, 1)))

    good = True
    for spoil in (inside_out, long_normals, no_front, bad_finish, no_file, box_canopy):
        b = Builder()
        b.sky(5, 10000)
        b.head(HIGH, levels=1)
        spoil(b)
        code, _ = traced(b, os.path.join(folder, spoil.__name__))
        good &= code == 2
    return good


def agrees_with_path(folder):
    """Mitsuba's own `path` integrator on the same surfaces: what a spot lights in a corner of matt and metal"""
    b = Builder()
    b.ground(.4)
    for i, (c, az) in enumerate((((0, 2, 1), 180), ((-1.5, 0, 1), 90))):
        p, f, _ = te.rectangle(c, az, 0, 3, 2)
        b.surface(f"wall{i}", "wall", p, f, matt([.8, .6, .4]), matt(.3))
    p, f, _ = te.rectangle((1.2, .3, .8), 280, 15, 1, 1)
    b.surface("metal", "panel", p, f, {"finish": "metallic", "alpha": .3, "reflectance": .8}, matt(.5))
    b.head((.2, .4, 1.2), albedo=.4)
    b.point_flash((.8, -1.5, 1.8), 340, -10, 30, 45, 100)
    b.meter("flat", (-.3, .2, 1.1), 300, 10, "flat")
    b.write(folder)
    e = export_read.read(folder)
    ours = Tracer(e.world, e.world.flash, e.receiver)
    ours.run([0], 1 << 20)
    mean, se = ours.part(None)
    n = 1 << 20
    spot = {"type": "spot", "beam_width": 30.0, "cutoff_angle": 45.0, "intensity": {"type": "rgb", "value": 100.0},
            "to_world": mi.ScalarTransform4f().look_at(
                [.8, -1.5, 1.8], [float(x) for x in np.array([.8, -1.5, 1.8]) + lights.direction(340, -10)], [0, 0, 1])}
    scene = mi.load_dict({"type": "scene", "light": spot, **{f"s{i}": s for i, s in enumerate(e.world.shape_of.values())}})
    sampler = mi.load_dict({"type": "independent"})
    sampler.seed(9, n)
    normal = mi.Vector3f(*[float(x) for x in e.receiver.normals[0]])
    at = mi.Point3f(*[float(x) for x in e.receiver.points[0]])
    d = mi.Frame3f(normal).to_world(mi.warp.square_to_cosine_hemisphere(sampler.next_2d()))
    path = mi.load_dict({"type": "path", "max_depth": 33, "rr_depth": 10})
    colour, _, _ = path.sample(scene, sampler, mi.RayDifferential3f(mi.Ray3f(at, d)))
    value = np.array(colour).T @ Y * math.pi if np.array(colour).shape[0] == 3 else np.array(colour) @ Y * math.pi
    spread = value.std() / math.sqrt(n)
    it = dr.zeros(mi.SurfaceInteraction3f)
    it.p = at
    ds, w = scene.sample_emitter_direction(it, mi.Point2f(.5, .5), True)
    direct = float((w.x * dr.maximum(dr.dot(ds.d, normal), 0))[0])
    joint = math.hypot(se[0], spread)
    print(f"ours {mean[0]:.4f}, path {value.mean() + direct:.4f}, standard error {joint:.4f}")
    return abs(mean[0] - value.mean() - direct) < 3.5 * joint and joint < .005 * mean[0]


OTHERS = (spot_is_linear, differences_are_found, broken_exports, agrees_with_path)


def main():
    wanted = sys.argv[1:]
    failed, start = [], time.time()
    with tempfile.TemporaryDirectory() as tmp:
        for make in EXPORTS + OTHERS:
            if wanted and make.__name__ not in wanted:
                continue
            print(f"\n=== {make.__name__}: {make.__doc__}", flush=True)
            folder = os.path.join(tmp, make.__name__)
            if not (check_export(make, folder) if make in EXPORTS else make(folder)):
                failed.append(make.__name__)
    print(f"\n{time.time() - start:.0f} s; " + ("every check holds" if not failed else "FAILED: " + ", ".join(failed)))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
