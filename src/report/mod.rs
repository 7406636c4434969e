//! The finished plan in the forms that people and programs read: one pure function and one file
//! a form. Nothing here computes; everything shown stands in the [`crate::plan::Plan`].

pub mod calendar;
pub mod page;
