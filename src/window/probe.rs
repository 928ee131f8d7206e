//! Whether a window can be opened here, asked before anything that would panic if it cannot.

use std::fmt;

/// Why there can be no window, and what to try.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoWindow {
    Display(String),
    Adapter,
    Thread(String),
}

impl fmt::Display for NoWindow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Display(why) => write!(
                f,
                "there is no display here, so no window ({why}); set DISPLAY to an X server, or \
                 use `umbrette report`, `draw` and `check`"
            ),
            Self::Adapter => write!(
                f,
                "there is a display but no graphics adapter that can draw on it, so no window; \
                 install a Vulkan driver (Mesa's software one will do), or use `umbrette report`, \
                 `draw` and `check`"
            ),
            Self::Thread(why) => write!(
                f,
                "the system gives no thread to compute light on, so no window ({why}); end other \
                 programs, or use `umbrette report`"
            ),
        }
    }
}

/// Asks for a display and an adapter. What comes back is to be kept until the window is open: some
/// servers start anew when their last client leaves, and would not answer just then.
///
/// # Errors
/// What is missing.
pub fn probe() -> Result<Display, NoWindow> {
    let display = display()?;
    adapter()?;
    Ok(display)
}

/// The display, held.
#[cfg(target_os = "linux")]
pub type Display = x11rb::rust_connection::RustConnection;
#[cfg(not(target_os = "linux"))]
pub type Display = ();

#[cfg(target_os = "linux")]
fn display() -> Result<Display, NoWindow> {
    match std::env::var_os("DISPLAY") {
        None => return Err(NoWindow::Display("DISPLAY is not set".into())),
        Some(name) if name.is_empty() => {
            return Err(NoWindow::Display("DISPLAY is empty".into()));
        }
        Some(_) => {}
    }
    x11rb::connect(None)
        .map(|(connection, _)| connection)
        .map_err(|error| NoWindow::Display(format!("the X server does not answer: {error}")))
}

#[cfg(not(target_os = "linux"))]
fn display() -> Result<Display, NoWindow> {
    Ok(())
}

fn adapter() -> Result<(), NoWindow> {
    let instance = wgpu::Instance::new(wgpu::InstanceDescriptor::new_without_display_handle());
    let backends = wgpu::Backends::VULKAN | wgpu::Backends::METAL | wgpu::Backends::DX12;
    let list = bevy::tasks::block_on(instance.enumerate_adapters(backends));
    if list.is_empty() {
        Err(NoWindow::Adapter)
    } else {
        Ok(())
    }
}
