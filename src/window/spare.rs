//! Memory that nobody uses goes back to the system when the window rests.

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
