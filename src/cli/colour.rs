//! Colour for the words that weigh, on terminals alone; the words say everything without it.

use anstyle::{AnsiColor, Style};

/// The words that begin a finding's first line, and a plan's answer.
fn style(line: &str) -> Option<(usize, Style)> {
    let bold = Style::new().bold();
    let words = [
        ("error: ", bold.fg_color(Some(AnsiColor::Red.into()))),
        ("error ", bold.fg_color(Some(AnsiColor::Red.into()))),
        ("warning ", bold.fg_color(Some(AnsiColor::Yellow.into()))),
        ("note ", bold),
        ("Short:", bold),
        ("On time:", bold),
    ];
    let found = words.into_iter().find(|(w, _)| line.starts_with(w));
    found.map(|(w, style)| (w.trim_end().len(), style))
}

/// The text with those words coloured; who prints it takes colours away where they do not belong.
pub(super) fn coloured(text: &str) -> String {
    let line = |line: &str| match style(line) {
        Some((n, style)) => format!("{style}{}{style:#}{}", &line[..n], &line[n..]),
        None => line.to_owned(),
    };
    text.split_inclusive('\n').map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_words_that_weigh_are_coloured_and_nothing_is_lost() {
        let text = "error S101 a.yaml:1:1\n  error inside\nNothing else\nnote D103";
        let shown = coloured(text);
        assert_eq!(shown.matches("\u{1b}[0m").count(), 2);
        assert!(shown.starts_with("\u{1b}[1m\u{1b}[31merror\u{1b}[0m S101"));
        assert_eq!(anstream::adapter::strip_str(&shown).to_string(), text);
    }
}
