//! Whole-program tests. One binary; a file for each subject.

#[path = "../support/mod.rs"]
mod support;

mod bad_input;
mod codes;
mod damage;
mod dates;
mod dating;
mod demo;
mod model;
mod schemas;
mod structure;
mod worked_examples;
