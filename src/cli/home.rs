//! `umbrette [SCENE]` without a command: the window where there can be one, else the report.

use super::args::HomeArgs;
use super::exit::{CliError, Exit};
use super::run::{complain, print};
use super::scene::light;
use super::text;

pub(super) fn run(args: &HomeArgs) -> Result<Exit, CliError> {
    match window(args)? {
        None => return Ok(Exit::Done),
        Some(why) => complain(&format!("{why}; here is the report")),
    }
    print(&text::report(&light(&args.scene)?))?;
    Ok(Exit::Done)
}

/// Opens the window and stays in it; else why there is none.
#[cfg(feature = "window")]
fn window(args: &HomeArgs) -> Result<Option<String>, CliError> {
    use super::scene::document;
    use crate::scene::freeze::freeze;
    use crate::window::{Opening, open};
    let mut document = document(args.scene.scene.as_deref())?;
    let scene = args.scene.scene.as_ref();
    let time = args.scene.time.as_deref();
    // what cannot be lit is told here, as every command tells it
    let snapshot = freeze(&document, time).map_err(|error| CliError::Freeze {
        scene: super::scene::name(scene.map(std::path::PathBuf::as_path)),
        error,
    })?;
    if let (Some(_), Some(moment)) = (time, snapshot.moment) {
        document.time = Some(format!("{} {}", moment.date, moment.clock));
    }
    let opening = Opening {
        document,
        path: scene.cloned(),
        frame_times: args.frame_times.clone(),
    };
    Ok(open(opening).err().map(|why| why.to_string()))
}

#[cfg(not(feature = "window"))]
fn window(args: &HomeArgs) -> Result<Option<String>, CliError> {
    let _ = &args.frame_times;
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    let why = if set("DISPLAY") || set("WAYLAND_DISPLAY") {
        "this build has no window (it was made without its default features)"
    } else {
        "there is no display here, so no window"
    };
    Ok(Some(why.into()))
}
