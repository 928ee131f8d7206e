//! Lengths of anthropometry off a field, to set the shapes by: printed, not stored.

use crate::shapes::Shape;
use glam::DVec3;

impl Shape {
    /// From `from` outside along `step` (metres) to the surface.
    fn reach(&self, from: DVec3, along: DVec3) -> Option<DVec3> {
        let mut t = 0.0;
        for _ in 0..2000 {
            let p = from + along * t;
            if self.field(p) <= 0.0 {
                return Some(p);
            }
            t += 0.0002;
        }
        None
    }

    /// Prints what the dimension table has, millimetres.
    pub fn measure(&self) {
        let front = |z: f64| {
            self.reach(DVec3::new(0.0, 0.14, z), -DVec3::Y)
                .map_or(f64::NAN, |p| p.y * 1000.0)
        };
        let back = (-20..120)
            .filter_map(|z| self.reach(DVec3::new(0.0, -0.14, f64::from(z) / 1000.0), DVec3::Y))
            .map(|p| p.y * 1000.0)
            .fold(0.0, f64::min);
        let side = |y: f64, z: f64| {
            self.reach(DVec3::new(0.11, y, z), -DVec3::X)
                .map_or(0.0, |p| p.x * 1000.0)
        };
        let widest = |ys: std::ops::Range<i32>, zs: std::ops::Range<i32>| {
            let mut most = (0.0, 0, 0);
            for y in ys {
                for z in zs.clone() {
                    let x = side(f64::from(y) * 0.004, f64::from(z) * 0.004);
                    if x > most.0 {
                        most = (x, y * 4, z * 4);
                    }
                }
            }
            most
        };
        println!("{} back {back:.1}", self.name);
        let lines: Vec<String> = (-26..30)
            .rev()
            .map(|k| (f64::from(k) * 4.0, front(f64::from(k) * 0.004)))
            .map(|(z, y)| format!("{z}:{y:.1}"))
            .collect();
        println!("  profile {}", lines.join(" "));
        println!(
            "  breadth {:?} cheekbones {:?} jaw corner {:?}",
            widest(-15..5, 10..20),
            widest(8..14, -5..3),
            widest(1..8, -16..-11)
        );
        let neck = self.heights[7] * 0.00045 + self.heights[6] * 0.00055;
        let middle = DVec3::new(0.0, -0.025, neck);
        let mut round = 0.0;
        let mut last: Option<DVec3> = None;
        for k in 0..=60 {
            let a = f64::from(k) * std::f64::consts::TAU / 60.0;
            let out = DVec3::new(a.sin(), a.cos(), 0.0);
            let p = self.reach(middle + out * 0.16, -out);
            if let (Some(p), Some(q)) = (p, last) {
                round += p.distance(q) * 1000.0;
            }
            last = p;
        }
        println!("  neck round {round:.1} at {:.0}", neck * 1000.0);
    }
}
