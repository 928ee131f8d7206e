//! The camera's and the flash's dials: which marks give the wanted faces and background.

mod answer;
mod holds;
mod light;
mod limits;
mod search;
mod several;
mod wish;
mod words;

pub use answer::{Answer, FaceAt, Limit, LimitKind, gain};
pub use light::{FaceLight, SceneLight};
pub use limits::Limits;
pub use search::{TOLERANCE_STOPS, as_set, solve};
pub use several::{Purpose, purposes};
pub use wish::{Keep, Wish};
pub use words::{dials, power_mark, reasons, size_tenths, tenths};
