//! What would help: changes to a scene, each lit again before it is told.

mod cures;
mod plan_b;
mod put;
mod trial;

pub use cures::{Cure, cures};
pub use plan_b::{PlanB, plan_b};
pub use put::put_settings;
