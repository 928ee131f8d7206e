//! From sources by way of every surface to meters and faces.

mod barrier;
mod beams;
mod coarse;
mod cone;
mod delta;
mod direct;
mod element;
mod engine;
mod exchange;
mod far;
mod gather;
mod ground;
mod group;
mod heads;
mod inquiry;
mod intake;
mod joined;
mod metal;
mod moved;
mod near;
mod packet;
mod round;
mod shade;
mod sheet;
mod sides;
mod sketch;
mod tessellate;
mod vertex;
mod vertex_beams;
mod water;
mod wide;
mod world;

pub use coarse::{Coarse, CoarseLight, Trial};
pub use engine::Engine;
pub use gather::Care;
pub use inquiry::Arrival;
