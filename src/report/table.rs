//! Tables for spreadsheets: comma-separated values that no spreadsheet runs.

/// The rows as text. A cell that a spreadsheet would take for a formula begins with an apostrophe.
pub(super) fn table<const N: usize>(rows: &[[String; N]]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing to memory cannot fail, and all rows are of one length.
        let _ = writer.write_record(row.iter().map(|c| harmless(c)));
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// Adds one row.
pub(super) fn line(row: &[String], text: &mut String) {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let _ = writer.write_record(row.iter().map(|c| harmless(c)));
    let bytes = writer.into_inner().unwrap_or_default();
    text.push_str(&String::from_utf8_lossy(&bytes));
}

/// Blanks before it do not stop a spreadsheet from running a formula.
fn harmless(cell: &str) -> String {
    let runs = |c: &str| c.starts_with(['=', '+', '-', '@', '\t', '\r']);
    // A number below zero is one, and no formula.
    let number = cell.starts_with('-') && cell.parse::<f64>().is_ok_and(f64::is_finite);
    if !number && (runs(cell) || runs(cell.trim_start())) {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a general reader gets back, and no cell that runs.
    #[test]
    fn cells_come_back_and_none_runs() {
        let cells = [
            "=1+2",
            "+1",
            "-c",
            "@b",
            "\t=1",
            "\r=1",
            " =1",
            "plain, with \"quotes\"",
            "two\nlines",
            "a-b",
            "-2.5",
            "",
        ];
        let text = table(&[cells.map(str::to_owned)]);
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(text.as_bytes());
        let row = reader.records().next().unwrap().unwrap();
        for (n, cell) in cells.iter().enumerate() {
            let expected = if n < 7 {
                format!("'{cell}")
            } else {
                (*cell).to_owned()
            };
            assert_eq!(&row[n], expected);
        }
    }
}
