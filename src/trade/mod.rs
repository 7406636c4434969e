//! The trade: publications, protocols, published figures, seasons, herds and words.

pub mod figures;
pub mod glossary;
pub mod herd;
pub mod protocol;
pub mod season;
pub mod sources;
