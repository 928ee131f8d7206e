//! `umbrette [SCENE]` without a command: the window where there can be one, else the report.

use super::args::SceneArgs;
use super::exit::{CliError, Exit};
use super::run::complain;
use super::run::print;
use super::scene::light;
use super::text;

pub(super) fn run(args: &SceneArgs) -> Result<Exit, CliError> {
    let lit = light(args)?;
    complain(if has_display() {
        "this build has no window yet; here is the report"
    } else {
        "there is no display here, so no window; here is the report"
    });
    print(&text::report(&lit))?;
    Ok(Exit::Done)
}

/// Whether the session says that there is a display to draw on.
fn has_display() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    cfg!(any(windows, target_os = "macos")) || set("DISPLAY") || set("WAYLAND_DISPLAY")
}
