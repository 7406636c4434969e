//! Tank.
