//! TODO schedule

pub(crate) mod drives;
pub(crate) mod moments;
pub(crate) mod pack;
pub(crate) mod readback;
