"""Light at receivers by path tracing: Mitsuba's ray casting and BSDFs under an estimator of our own.

Every path starts at a receiver. There and at every surface each light is drawn once directly; the path goes on by a
draw of the BSDF, and a light that it then meets by itself counts by the balance heuristic. From the receiver it starts
by a mixture: its own response, points on panels, and (with water) the sun's glitter. 32 surfaces at most, Russian
roulette from the tenth."""
import numpy as np

from lights import AreaFlash, Sky, Sun
from variant import dr, luminance, mi, triple

MAX_SURFACES, ROULETTE_FROM = 32, 10
PARTS = ("sun_direct", "direct", "bounce1", "more")      # direct: without the sun; sums to the total


class Tracer:
    """Accumulates samples of the light of one list of lights at receivers; values are luminance-weighted."""

    def __init__(self, world, lights, receiver, seed=1, wavefront=1 << 20):
        self.world, self.lights, self.seed, self.wavefront = world, lights, seed, wavefront
        self.count = len(receiver.points)
        self.p = triple(mi.Point3f, receiver.points.T)
        self.n = triple(mi.Vector3f, receiver.normals.T)
        self.dome = mi.Bool(receiver.dome.astype(bool))
        self.sky = next((x for x in lights if isinstance(x, Sky)), None)
        self.areas = [x for x in lights if isinstance(x, AreaFlash)]
        self.sun = next((x for x in lights if isinstance(x, Sun)), None)
        self.glitter = max(1.5 * max(world.water), 0.02) if world.water and self.sun else None
        self._panel_shares(receiver)
        self.samples = np.zeros(self.count)
        self.s = np.zeros((len(PARTS), self.count))
        self.s2 = np.zeros((len(PARTS) + 1, self.count))

    def _panel_shares(self, r):
        """Per receiver, how much of the panels' part of the mixture goes to each (about their solid angle)."""
        w = np.zeros((len(self.world.panels), self.count))
        for k, (c, u, v, _) in enumerate(self.world.panels):
            corners = np.stack([c + a * u + b * v for a in (-1, 1) for b in (-1, 1)])
            up = np.max((corners[None] - r.points[:, None]) @ r.normals[..., None], axis=1)[:, 0]
            area = 4 * np.linalg.norm(u) * np.linalg.norm(v)
            solid = area / (np.sum((r.points - c) ** 2, 1) + area)
            w[k] = np.where(r.dome | (up > 0), solid, 0)
        total = w.sum(0)
        self.share = [mi.Float(x.astype(np.float32)) for x in w / np.where(total > 0, total, 1)]
        self.panel_part = mi.Float((np.where(total > 0, .5, 0)).astype(np.float32)) if len(w) else None

    # -- the first direction -------------------------------------------------
    def _response(self, d, n, dome):
        c = dr.dot(d, n)
        return dr.select(dome, .5 * (1 + c), dr.maximum(c, 0))

    def _fractions(self, lane):
        f = dr.gather(mi.Float, self.panel_part, lane) if self.panel_part is not None else mi.Float(0)
        return f, (.15 if self.glitter else 0.0)

    def _first_pdf(self, d, p, n, dome, lane):
        f, g = self._fractions(lane)
        c = dr.dot(d, n)
        pdf = dr.select(dome, (1 + c) / (4 * dr.pi), dr.maximum(c, 0) * dr.inv_pi) * (1 - f - g)
        for share, (centre, u, v, normal) in zip(self.share, self.world.panels):
            n_, c_ = triple(mi.Vector3f, normal), triple(mi.Point3f, centre)
            cos = dr.dot(d, n_)
            t = dr.dot(c_ - p, n_) / dr.select(dr.abs(cos) > 1e-7, cos, 1e-7)
            q = p + d * t - c_
            inside = ((dr.abs(dr.dot(q, triple(mi.Vector3f, u))) <= float(u @ u))
                      & (dr.abs(dr.dot(q, triple(mi.Vector3f, v))) <= float(v @ v)) & (t > 0))
            area = 4 * float(np.linalg.norm(u) * np.linalg.norm(v))
            pdf += dr.select(inside, f * dr.gather(mi.Float, share, lane) * t * t / (area * dr.abs(cos)), 0)
        if self.glitter:
            s = triple(mi.Vector3f, self.sun.towards)
            h = dr.normalize(s - d)
            m = mi.MicrofacetDistribution(mi.MicrofacetType.GGX, self.glitter, False)
            h = dr.select(h.z < 0, -h, h)                      # facets that lean away from a low sun are drawn too
            across = dr.abs(dr.dot(h, s))
            pdf += g * dr.select(across > 1e-6, m.eval(h) * h.z / (4 * across), 0)
        return pdf

    def _first_direction(self, p, n, dome, lane, sampler):
        f, g = self._fractions(lane)
        s, choose, which = sampler.next_2d(), sampler.next_1d(), sampler.next_1d()
        mu = dr.select(dome, 2 * dr.sqrt(s.x) - 1, dr.sqrt(s.x))
        r = dr.safe_sqrt(1 - mu * mu)
        sin, cos = dr.sincos(2 * dr.pi * s.y)
        d = mi.Frame3f(n).to_world(mi.Vector3f(r * cos, r * sin, mu))
        below, to_panel = mi.Float(0), d
        for share, (centre, u, v, _) in zip(self.share, self.world.panels):
            q = (triple(mi.Point3f, centre) + triple(mi.Vector3f, u) * (2 * s.x - 1) + triple(mi.Vector3f, v) * (2 * s.y - 1))
            mine = (which >= below)
            to_panel = dr.select(mine & (dr.gather(mi.Float, share, lane) > 0), dr.normalize(q - p), to_panel)
            below += dr.gather(mi.Float, share, lane)
        d = dr.select(choose < f, to_panel, d)
        if self.glitter:
            towards = triple(mi.Vector3f, self.sun.towards)
            h, _ = mi.MicrofacetDistribution(mi.MicrofacetType.GGX, self.glitter, False).sample(mi.Vector3f(0, 0, 1), s)
            d = dr.select(choose > 1 - g, towards - h * (2 * dr.dot(h, towards)), d)
        return d

    # -- the path ------------------------------------------------------------
    def _met(self, si, hit, d, pdf_path, active):
        """Light that a path meets by itself, weighted against drawing it directly."""
        out = mi.Color3f(0)
        if self.sky is not None:
            pdf = self.sky.pdf(d)
            w = dr.select(pdf_path > 0, pdf_path / (pdf_path + pdf), 0)
            out += dr.select(active & ~hit, self.sky.radiance(d) * w, 0)
        for a in self.areas:
            cos = -dr.dot(d, si.n)
            on = active & hit & (si.shape == mi.ShapePtr(a.shape)) & (cos > 0)
            w = dr.select(pdf_path > 0, pdf_path / (pdf_path + a.pdf_at(si.t, cos)), 0)
            out += dr.select(on, a.radiance * w, 0)
        return out

    @dr.syntax
    def _paths(self, lane, sampler):
        p, n = dr.gather(mi.Point3f, self.p, lane), dr.gather(mi.Vector3f, self.n, lane)
        dome = dr.gather(mi.Bool, self.dome, lane)
        sun0, b0, b1, b2 = mi.Float(0), mi.Float(0), mi.Float(0), mi.Float(0)
        for light in self.lights:
            d, dist, weight, pdf = light.draw(p, sampler)
            r = self._response(d, n, dome)
            use = (r > 0) & (dr.max(weight) > 0)
            other = dr.select(pdf > 0, self._first_pdf(d, p, n, dome, lane), 0)
            mis = dr.select(pdf > 0, pdf / (pdf + other), 1)
            y = dr.select(use, luminance(weight) * r * mis * self.world.transmittance(p, d, dist, use), 0)
            if dr.hint(light is self.sun, mode="scalar"):
                sun0 += y
            else:
                b0 += y
        d = self._first_direction(p, n, dome, lane, sampler)
        pdf_path = self._first_pdf(d, p, n, dome, lane)
        r = self._response(d, n, dome)
        active = (r > 0) & (pdf_path > 0)
        beta = mi.Color3f(dr.select(active, r / pdf_path, 0))
        ray = mi.Ray3f(p, d)
        depth = mi.UInt32(0)
        ctx = mi.BSDFContext()
        while active:
            si, bsdf, hit, lost = self.world.intersect(ray, sampler, active)
            active &= ~lost
            y = luminance(beta * self._met(si, hit, ray.d, pdf_path, active))
            active &= hit
            depth += 1
            b0 += dr.select(depth == 1, y, 0)
            b1 += dr.select(depth == 2, y, 0)
            b2 += dr.select(depth > 2, y, 0)
            active &= depth <= MAX_SURFACES
            y = mi.Float(0)
            for light in self.lights:
                d, dist, weight, pdf = light.draw(si.p, sampler)
                wo = si.to_local(d)
                f, pdf_bsdf = bsdf.eval_pdf(ctx, si, wo, active)
                use = active & (dr.max(f) > 0) & (dr.max(weight) > 0)
                mis = dr.select(pdf > 0, pdf / (pdf + pdf_bsdf), 1)
                start = si.spawn_ray(d).o
                y += dr.select(use, luminance(beta * f * weight) * mis * self.world.transmittance(start, d, dist, use), 0)
            b1 += dr.select(depth == 1, y, 0)
            b2 += dr.select(depth > 1, y, 0)
            bs, w = bsdf.sample(ctx, si, sampler.next_1d(), sampler.next_2d(), active)
            beta *= w
            pdf_path = bs.pdf
            d = si.to_world(bs.wo)
            ray = mi.Ray3f(si.spawn_ray(d).o, d)
            active &= (dr.max(beta) > 0) & (bs.pdf > 0)
            stay = dr.minimum(dr.max(beta), .95)
            late = depth >= ROULETTE_FROM
            active &= ~late | (sampler.next_1d() < stay)
            beta *= dr.select(late, dr.rcp(dr.maximum(stay, 1e-6)), 1)
        return sun0, b0, b1, b2

    def run(self, which, each):
        """Adds `each` samples to the receivers `which` (indices)."""
        which = np.asarray(which)
        while each > 0:
            now = min(each, max(1, self.wavefront // len(which)))
            step = max(1, self.wavefront // now)
            for i in range(0, len(which), step):
                self._wave(which[i:i + step], now)
            each -= now

    def _wave(self, which, each):
        n = len(which) * each
        sampler = mi.load_dict({"type": "independent"})
        sampler.seed(self.seed, n)
        self.seed += 1
        lane = mi.UInt32(np.repeat(which.astype(np.uint32), each))
        parts = self._paths(lane, sampler)
        dr.eval(parts)
        v = np.stack([np.broadcast_to(np.array(x, dtype=np.float64), (n,)) for x in parts]).reshape(len(PARTS), len(which), each)
        if not np.all(np.isfinite(v)):
            raise RuntimeError(f"{int((~np.isfinite(v)).sum())} samples are not finite")
        self.samples[which] += each
        self.s[:, which] += v.sum(2)
        self.s2[:-1, which] += (v * v).sum(2)
        self.s2[-1, which] += (v.sum(0) ** 2).sum(1)

    def part(self, k):
        """Mean and standard error of one part (index into PARTS), or of the total with k = None."""
        n = np.maximum(self.samples, 1)
        mean = (self.s.sum(0) if k is None else self.s[k]) / n
        var = (self.s2[-1] if k is None else self.s2[k]) / n - mean ** 2
        var = np.where(var > 1e-11 * mean ** 2, var, 0)            # rounding of samples that are all alike
        return mean, np.sqrt(var / np.maximum(n - 1, 1))

    def planned(self, goal, pilot, most, note=None):
        """Standard errors of about goal(mean) from a plan that a pilot run made, whose samples are then thrown away: to
        stop where the estimate happens to look good would read receivers with few samples too dark."""
        self.run(np.arange(self.count), pilot)
        mean, se = self.part(None)
        aim = goal(mean)
        variance = se ** 2 * pilot
        need = np.maximum(variance, .25 * variance.mean()) / aim ** 2
        count = np.clip(2 ** (np.ceil(2 * np.log2(np.maximum(need, 1))) / 2), min(16, most), most).astype(np.int64)
        self.samples[:], self.s[:], self.s2[:] = 0, 0, 0
        for n in np.unique(count):
            self.run(np.flatnonzero(count == n), int(n))
        if note:
            note(f"{self.count} receivers, {int(self.samples.sum())} samples, {int((need > most).sum())} at the most")
        return self.part(None)

    def until(self, goal, first, most, note=None):
        """Samples until the standard error of every receiver's total is at most goal(mean) (array in, array out); `first`
        must be large, for the reason that `planned` gives."""
        self.run(np.arange(self.count), first)
        while True:
            mean, se = self.part(None)
            aim = goal(mean)
            todo = np.flatnonzero((se > aim) & (self.samples < most))
            if note:
                note(f"{len(todo)} of {self.count} receivers above the target, {int(self.samples.sum())} samples")
            if not len(todo):
                return mean, se
            want = self.samples[todo] * np.minimum((se[todo] / np.maximum(aim[todo], 1e-300)) ** 2 * 1.05 - 1, 3)
            want = np.maximum(np.minimum(want, most - self.samples[todo]), 16)
            # receivers that want about the same number go together
            for level in np.unique(np.ceil(np.log2(want))):
                at = np.ceil(np.log2(want)) == level
                self.run(todo[at], int(np.ceil(want[at].max())))
