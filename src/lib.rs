//! umbrette rehearses portrait light outdoors.
//!
//! Axes, origin and the sense of every angle, once for the whole crate:
//! the world is right-handed and in metres, x to the right of the plan, y up the plan,
//! z height above the ground. Azimuth is in degrees clockwise from +y seen from above,
//! elevation in degrees above the horizon; a direction is
//! `(sin az cos el, cos az cos el, sin el)`. The scene says at which plan azimuth true
//! north lies. A head's own frame is the world frame of a head that looks along +y:
//! +y out of the nose, +x to the person's own right, +z up, origin midway between the ears;
//! azimuth from the nose is positive towards the person's own right.
//!
//! Rooms, each using only those before it:
//! `units <- geometry <- light <- snapshot <- reading <- settings <- sheet <- export`,
//! `units <- document <- scene`, `advise` over all of these but the last two, and `cli` at the door.

pub mod advise;
pub mod cli;
pub mod document;
pub mod export;
pub mod geometry;
pub mod light;
pub mod reading;
pub mod scene;
pub mod settings;
pub mod sheet;
pub mod snapshot;
pub mod units;
#[cfg(feature = "window")]
pub mod window;
