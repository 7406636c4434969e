//! How straws are taken from the tank, and the water of the bath.

use crate::base::units::{Seconds, Straws};

/// The water of a site's thaw bath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bath {
    /// Litres, if given.
    pub liters: Option<f64>,
    /// Watts of its heater; 0 without one.
    pub heater_watts: f64,
    /// Degrees Celsius of the hot water at hand.
    pub hot_water_c: f64,
}

impl Default for Bath {
    fn default() -> Self {
        Self {
            liters: None,
            heater_watts: 0.0,
            // 120 F: common practice, no source.
            hot_water_c: (120.0 - 32.0) / 1.8,
        }
    }
}

/// How straws are taken from the tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrawRules {
    /// Share of the straws thawed that no cow comes for, 0 to 1.
    pub wasted: f64,
    /// A canister is in the neck so long each time it is lifted.
    pub lift: Seconds,
    /// Straws taken out at each lift.
    pub a_lift: Straws,
}

impl Default for StrawRules {
    fn default() -> Self {
        Self {
            wasted: 0.0,
            // Common practice, no source.
            lift: Seconds(5.0),
            a_lift: Straws(2),
        }
    }
}
