//! Sources, finishes, colour and transport: what arrives where.

pub mod cie_sky;
pub mod colour;
pub mod daylight;
pub mod lens;
pub mod locus;
pub mod photometry;
pub mod solve;
pub mod stage;
pub mod sun;
pub mod table;
pub mod transport;
pub mod twilight;

pub use solve::{sketch, solve, solve_again};
pub use table::Solution;
