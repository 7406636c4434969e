//! Reads a season file, plans it, and says whether the crew covers it.
//!
//! `cargo run --release --example plan_a_season -- demo/season.yaml`

use thawline::{Library, pipeline, season};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "demo/season.yaml".to_owned());
    let (season, findings) = season::read(&file, &std::fs::read(&file)?, &Library::built_in())?;
    let plan = pipeline::plan(&season, &findings)?;
    for sentence in &plan.verdict.words {
        println!("{sentence}");
    }
    for session in &plan.sessions {
        let people: Vec<String> = session
            .technicians
            .iter()
            .map(|t| format!("{} {}", plan.technician_name(&t.id), t.head))
            .collect();
        println!(
            "{} {}: {} head ({})",
            session.open.format("%a %-d %b"),
            plan.site_name(&session.site),
            session.head,
            people.join(", ")
        );
    }
    Ok(())
}
