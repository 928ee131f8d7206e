//! Changes to a scene, without a window: what can be moved, turned, aimed, raised, added and
//! taken out; one step a gesture; unlimited undo and redo.

mod add;
mod delta;
mod history;
mod operate;
mod snap;
mod things;

pub use add::{NewThing, add, delete, duplicate, free_name};
pub use history::{Change, History, Marks, apply, begin, cancel, commit, redo, undo};
pub use operate::{
    aim_at, bearing, height, move_by, move_corner, raise_by, rename, set_bearing, set_place,
    set_time,
};
pub use snap::{snap_angle, snap_length};
pub use things::{Sort, Thing, ThingId, ThingMut, corners, find, find_mut, place, things};

#[cfg(test)]
mod tests;
