//! What the window leaves to others: memory that it does not use, and turns on the machine's cores.

/// Gives back to the system what its allocator keeps for later, as far as whole pages of it are free:
/// how much it keeps hangs on how the threads happened to meet, not on what is in use.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn give_back() {
    unsafe extern "C" {
        fn malloc_trim(pad: usize) -> std::ffi::c_int;
    }
    // SAFETY: may be called at any time from any thread, and touches free memory only.
    unsafe { malloc_trim(0) };
}

#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn give_back() {}

/// How far a thread stands back, in the system's own steps of niceness (our choice: where cores are short
/// it gets about a tenth of what another thread gets).
#[cfg(target_os = "linux")]
const STEPS: i32 = 10;

/// Lets other threads of the program go first where cores are short. Only one system lowers one thread
/// alone; elsewhere this does nothing.
#[cfg(target_os = "linux")]
pub fn stand_back() {
    let thread = rustix::thread::gettid();
    // without it everything is a little later
    let _ = rustix::process::setpriority_process(Some(thread), STEPS);
}

#[cfg(not(target_os = "linux"))]
pub fn stand_back() {}
