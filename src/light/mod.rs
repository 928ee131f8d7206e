//! Sources, finishes, colour and transport: what arrives where.

pub mod cie_sky;
pub mod colour;
pub mod solve;
pub mod stage;
pub mod table;
pub mod transport;

pub use solve::solve;
pub use table::Solution;
