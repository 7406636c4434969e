//! Rules that keep hours free of work, one in a file: what stands under its key (its comment is the
//! schema's text), what may be wrong with that, and which hours it keeps free. Each has two lines here;
//! plan, verifier, schema and `explain` go by them.

mod hours;
mod no_chute_work;
mod no_work_before;

use schemars::JsonSchema;
use serde::Deserialize;

pub(super) use hours::Rule;
pub use hours::{FreeHours, Stops, When};
pub(super) use no_chute_work::NoChuteWork;

/// The keys of these rules, each with the form of what stands under it.
macro_rules! keys {
    ($($key:ident: $form:ty,)*) => {
        /// Rules that keep hours free, as they stand in YAML under `rules`.
        #[derive(Debug, Default, Deserialize, JsonSchema)]
        #[allow(missing_docs)]
        pub struct FreeRules {
            $(#[serde(default)] pub $key: $form,)*
        }

        impl FreeRules {
            /// Each rule, with its key.
            pub(super) fn each(&self) -> impl Iterator<Item = (&'static str, &dyn Rule)> {
                [$((stringify!($key), &self.$key as &dyn Rule),)*].into_iter()
            }
        }
    };
}

keys! {
    no_chute_work: NoChuteWork,
    no_work_before: no_work_before::NoWorkBefore,
}
