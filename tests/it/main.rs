//! Whole-program tests. One binary; a file for each subject.

#[path = "../support/mod.rs"]
mod support;

mod bad_input;
mod codes;
mod damage;
mod dates;
mod demo;
mod herd;
mod model;
mod schemas;
mod structure;
