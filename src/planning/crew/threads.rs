//! The threads that work is spread over.

use std::sync::OnceLock;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// The threads that work is spread over; none where the system refuses them, and all is done on this one.
pub(crate) fn threads() -> Option<&'static ThreadPool> {
    static THREADS: OnceLock<Option<ThreadPool>> = OnceLock::new();
    let made = THREADS.get_or_init(|| ThreadPoolBuilder::new().build().ok());
    made.as_ref()
}
