"""The scene that every script here traces: surfaces for Mitsuba, canopies with gaps as exact ellipsoids, lights apart
for ambient and flash. Lengths in metres, z up; radiance is read as cd/m2 (flash: cd s/m2)."""
from dataclasses import dataclass, field

import numpy as np

import finishes
from lights import FAR, AreaFlash
from variant import dr, mi, triple

BLACK = {"finish": "matt", "albedo": 0.0}


@dataclass
class Surface:
    """A named surface: triangles, or a Mitsuba shape dictionary that stands for them; finishes as in index.json."""
    name: str
    kind: str
    front: dict
    back: dict
    points: np.ndarray = None          # (V, 3)
    faces: np.ndarray = None           # (F, 3), counter-clockwise seen from the front
    shape: dict = None


@dataclass
class Receiver:
    """Points with a facing that are traced as one: flat (cosine) or dome ((1 + cos) / 2)."""
    points: np.ndarray                 # (M, 3)
    normals: np.ndarray                # (M, 3), unit
    dome: np.ndarray                   # (M,) bool


class Ellipsoid:
    """A canopy. Light that crosses it passes by fraction ** (length inside / diameter along the ray); the rest of a ray
    that meets it sees a Lambertian surface where it enters. A ray that starts inside and does not get out is lost."""

    def __init__(self, centre, unit_from_world, fraction, albedo):
        self.centre, self.m = np.asarray(centre, float), np.asarray(unit_from_world, float)
        self.fraction = float(fraction)
        self.bsdf = mi.load_dict({"type": "diffuse", "reflectance": {"type": "rgb", "value": finishes.rgb(albedo)}})

    @staticmethod
    def fitted(points, fraction, albedo, name):
        """From the vertices of a closed mesh of an ellipsoid in any position, by least squares on its quadric."""
        mid = points.mean(0)
        size = np.abs(points - mid).max()
        x, y, z = ((points - mid) / size).T
        terms = np.stack([x * x, y * y, z * z, 2 * y * z, 2 * x * z, 2 * x * y, 2 * x, 2 * y, 2 * z], -1)
        q = np.linalg.lstsq(terms, np.ones(len(points)), rcond=None)[0]
        a = np.array([[q[0], q[5], q[4]], [q[5], q[1], q[3]], [q[4], q[3], q[2]]])
        b = q[6:]
        c = np.linalg.solve(a, -b)
        level = 1 + c @ a @ c
        values, vectors = np.linalg.eigh(a / level)
        if np.any(values <= 0):
            raise ValueError(f"canopy '{name}': its vertices do not lie on an ellipsoid")
        m = (vectors * np.sqrt(values)).T / size
        centre = mid + c * size
        local = (points - centre) @ m.T
        off = np.abs(np.linalg.norm(local, axis=1) - 1).max()
        if off > 0.02 or np.abs(local).max(0).min() < 0.9:
            raise ValueError(f"canopy '{name}': its vertices do not go round an ellipsoid (up to {100 * off:.1f} % off it)")
        return Ellipsoid(centre, m, fraction, albedo)

    def _local(self, v):
        return mi.Vector3f(*[dr.dot(triple(mi.Vector3f, self.m[i]), mi.Vector3f(v)) for i in range(3)])

    def span(self, o, d):
        """Entry and exit distances along the ray (0, -1 where it misses), and half the inverse of its diameter there."""
        e = self._local(d)
        s = self._local(o - triple(mi.Point3f, self.centre))
        ee = dr.squared_norm(e)
        tm = -dr.dot(s, e) / ee                                     # nearest point of the line to the centre
        disc = 1 - dr.squared_norm(s + e * tm)
        half = dr.safe_sqrt(disc / ee)
        hit = disc > 0
        return dr.select(hit, tm - half, 0), dr.select(hit, tm + half, -1), 0.5 * dr.sqrt(ee)

    def passed(self, length, per_length):
        if self.fraction <= 0:
            return dr.select(length > 1e-6, mi.Float(0), 1)
        return dr.exp(float(np.log(self.fraction)) * dr.maximum(length, 0) * per_length)

    def normal(self, p):
        s = self._local(p - triple(mi.Point3f, self.centre))
        return dr.normalize(mi.Normal3f(*[dr.dot(triple(mi.Vector3f, self.m[:, i]), s) for i in range(3)]))


def mesh(name, points, faces, bsdf):
    props = mi.Properties()
    props["mesh_bsdf"] = mi.load_dict(bsdf)
    m = mi.Mesh(name, len(points), len(faces), has_vertex_normals=False, props=props)
    p = mi.traverse(m)
    p["vertex_positions"] = np.asarray(points, np.float32).ravel()
    p["faces"] = np.asarray(faces, np.uint32).ravel()
    p.update()
    return m


def flat_square(points, faces):
    """Transform of Mitsuba's exact rectangle for a mesh that is one large level rectangle along x and y facing up, or None."""
    lo, hi = points.min(0), points.max(0)
    if len(points) != 4 or len(faces) != 2 or hi[2] - lo[2] > 1e-6:
        return None
    n = np.cross(points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]])
    if abs(np.abs(n[:, 2]).sum() / 2 - np.prod((hi - lo)[:2])) > 1e-5 * np.prod((hi - lo)[:2]) or np.any(n[:, 2] <= 0):
        return None
    t = mi.ScalarTransform4f
    return t().translate([float(x) for x in (lo + hi) / 2]) @ t().scale([float(x) for x in (hi - lo)[:2] / 2] + [1.0])


def bounding_rectangle(points):
    """Smallest found rectangle (centre, half axes u and v, normal) about a flat set of points; None when not flat."""
    c = points.mean(0)
    _, s, axes = np.linalg.svd(points - c, full_matrices=False)
    if s[2] > 1e-3 * s[0]:
        return None
    q = (points - c) @ axes[:2].T
    best = None
    for a in np.arange(0, 90, .5) * np.pi / 180:
        r = q @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        lo, hi = r.min(0), r.max(0)
        area = np.prod(hi - lo)
        if best is None or area < best[0] * (1 - 1e-9):
            best = (area, a, (lo + hi) / 2, (hi - lo) / 2)
    _, a, mid, half = best
    u = np.cos(a) * axes[0] + np.sin(a) * axes[1]
    v = -np.sin(a) * axes[0] + np.cos(a) * axes[1]
    return c + mid[0] * u + mid[1] * v, u * half[0], v * half[1], np.cross(u, v)


@dataclass
class World:
    """What is there, once for all lights; `ambient` and `flash` are lists of lights of lights.py."""
    surfaces: list
    ambient: list = field(default_factory=list)
    flash: list = field(default_factory=list)
    extra_canopies: list = field(default_factory=list)

    def __post_init__(self):
        d, self.shape_of = {"type": "scene"}, {}
        self.canopies, self.panels, self.water = list(self.extra_canopies), [], []
        for i, s in enumerate(self.surfaces):
            if s.front["finish"] == "gap":
                self.canopies.append(Ellipsoid.fitted(s.points, s.front["fraction"], s.front["albedo"], s.name))
                continue
            try:
                bsdf = finishes.bsdf(s.front, s.back)
            except (KeyError, ValueError) as e:
                raise ValueError(f"surface '{s.name}': {e}") from e
            flat = flat_square(s.points, s.faces) if s.shape is None and s.kind in ("ground", "water") else None
            if s.shape is not None:
                shape = mi.load_dict({**s.shape, "bsdf": bsdf})
            elif flat is not None:
                shape = mi.load_dict({"type": "rectangle", "to_world": flat, "bsdf": bsdf})
            else:
                shape = mesh(s.name, s.points, s.faces, bsdf)
            d[f"s{i:04d}"] = shape
            self.shape_of[s.name] = shape
            if s.kind == "panel" and s.points is not None:
                r = bounding_rectangle(s.points)
                if r is not None:
                    self.panels.append(r)
            if s.front["finish"] == "water":
                self.water.append(float(s.front["roughness"]))
        self.scene = mi.load_dict(d)

    def area_flash(self, name, intensity, colour=(1, 1, 1)):
        """The surface of this name as a flash."""
        s = next(s for s in self.surfaces if s.name == name)
        return AreaFlash(self.shape_of[name], s.points, s.faces, intensity, colour)

    def transmittance(self, p, d, dist, active):
        """0 behind solid surfaces, else the product of what the canopies let pass."""
        ray = mi.Ray3f(p, d)
        ray.maxt = dist
        t = dr.select(self.scene.ray_test(ray, active), mi.Float(0), 1)
        for c in self.canopies:
            a, b, k = c.span(p, d)
            t *= c.passed(dr.minimum(b, dist) - dr.maximum(a, 0), k)
        return t

    def intersect(self, ray, sampler, active):
        """The surface a ray meets, its BSDF, and whether the ray was lost inside a canopy."""
        si = self.scene.ray_intersect(ray, active)
        bsdf = si.bsdf()
        # nearby, the ray gives the point better than a surface of hundreds of kilometres does in single precision
        si.p = dr.select(si.is_valid() & (si.t < 100), ray.o + ray.d * si.t, si.p)
        lost, where = mi.Bool(False), dr.select(si.is_valid(), si.t, FAR)
        reach = mi.Float(where)
        for c in self.canopies:
            a, b, k = c.span(ray.o, ray.d)
            inside = (a < 1e-4) & (b > 1e-3)
            passes = sampler.next_1d() < c.passed(dr.minimum(b, reach) - dr.maximum(a, 0), k)
            lost |= active & inside & ~passes
            hit = active & (a >= 1e-4) & (a < where) & ~passes
            n = c.normal(ray.o + ray.d * a)
            where = dr.select(hit, a, where)
            si.t = dr.select(hit, a, si.t)
            si.p = dr.select(hit, ray.o + ray.d * a + n * 2e-3, si.p)
            si.n = dr.select(hit, n, si.n)
            frame = mi.Frame3f(n)
            si.sh_frame.s = dr.select(hit, frame.s, si.sh_frame.s)
            si.sh_frame.t = dr.select(hit, frame.t, si.sh_frame.t)
            si.sh_frame.n = dr.select(hit, frame.n, si.sh_frame.n)
            si.wi = dr.select(hit, frame.to_local(-ray.d), si.wi)
            si.shape = dr.select(hit, mi.ShapePtr(None), si.shape)
            bsdf = dr.select(hit, mi.BSDFPtr(c.bsdf), bsdf)
        return si, bsdf, where < FAR, lost
