//! What would help: changes to a scene, each lit again before it is told.

mod correct;
mod cures;
pub mod fit;
mod flash_cures;
pub mod frame;
mod group_cures;
mod observe;
mod pixels;
mod plan_b;
mod put;
mod relight;
pub mod tell;
mod trial;
mod wait;

pub use correct::{Checked, Corrected, Correction, FaceCorrected, correct, put_correction};
pub use cures::{Cure, cures, cures_while};
pub use observe::ObserveError;
pub use plan_b::{PlanB, plan_b, plan_b_as_set};
pub use put::put_settings;
pub use trial::AsLit;
