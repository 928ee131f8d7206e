//! The words of a scene file, one room for each kind of thing.

mod camera;
mod defaults;
mod flash;
mod kit;
mod panel;
mod person;
mod root;
mod site;
mod sky;
mod surface;
mod target;
mod thing;

pub use camera::{Camera, Orientation, Photographer, ShutterKind};
pub use flash::{Battery, Beam, Flash, Gel, Grid, Heat, Output, Softbox};
pub use kit::{BagFlash, BagLens, BagPanel, Kit, Lens, Shot, Stand, Wind};
pub use panel::{Finish, Panel, PanelPlace, PanelShape, ResolvedFinish, Support};
pub use person::{Build, Hair, Hat, Moves, Person, Posture};
pub use root::{Document, FORMAT, Origin};
pub use site::{Condition, Metered, Place};
pub use sky::{Sky, Sun};
pub use surface::{NamedSurface, Surface, Zone};
pub use target::{Aim, BounceFrom, Facing, Target};
pub use thing::{
    Backdrop, BackdropKind, Canopy, Meter, Pattern, Receptor, Solid, SolidShape, Wall, WallShape,
    Wanted,
};
