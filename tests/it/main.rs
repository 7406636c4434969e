//! Whole-program tests. One binary; a file for each subject.

#[path = "../support/mod.rs"]
mod support;

mod alley;
mod bad_input;
mod by_heat;
mod calendars;
mod calves;
mod chance;
mod choosing;
mod choosing_days;
mod clock;
mod codes;
mod damage;
mod dates;
mod dating;
mod demo;
mod divided;
mod explain;
mod first_season;
mod free_hours;
mod guide;
mod herd;
mod law;
mod library;
mod long_text;
mod matings;
mod model;
mod oracle;
#[cfg(feature = "pdf")]
mod pdf;
mod plan_matings;
mod published_figures;
mod ready;
mod reasons;
mod road;
mod schemas;
mod search;
mod second_reading;
mod spreadsheets;
mod staffing;
mod staffing_bounds;
mod staffing_heat;
mod staffing_rank;
mod staffing_word;
mod structure;
mod supplies;
mod tables;
mod tank;
mod territory;
mod thaw;
mod turns;
mod units;
mod worked_examples;
