//! Texts of the user's in sentences of ours: shown safely, and the known word they may have meant.

use std::borrow::Cow;

/// Shows a piece of the user's text safely: one line, no control characters, not too long.
#[must_use]
pub fn quoted(text: &str) -> String {
    const MOST: usize = 60;
    let mut out = String::from("`");
    for (n, c) in text.chars().enumerate() {
        if n == MOST {
            out.push('…');
            break;
        }
        push(&mut out, c, |c| is_hidden(c) || c == '`');
    }
    out.push('`');
    out
}

/// The text with every hidden character written as its number: names of files and keys may hold
/// what would take hold of a terminal.
#[must_use]
pub fn visible(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|c| push(&mut out, c, is_hidden));
    out
}

/// The same for text of many lines: their ends stay, and tabs.
#[must_use]
pub fn visible_text(text: &str) -> Cow<'_, str> {
    let hides = |c: char| is_hidden(c) && !matches!(c, '\n' | '\t');
    if !text.contains(hides) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let (line, end) = match line.strip_suffix("\r\n") {
            Some(line) => (line, "\r\n"),
            None => (line, ""),
        };
        line.chars().for_each(|c| push(&mut out, c, hides));
        out.push_str(end);
    }
    Cow::Owned(out)
}

/// Adds a character, one that hides by its number.
fn push(out: &mut String, c: char, hides: impl Fn(char) -> bool) {
    if hides(c) {
        out.extend(c.escape_unicode());
    } else {
        out.push(c);
    }
}

/// Control and invisible formatting characters: they could break a line, a calendar property or
/// the reading direction, so no id, name or note may hold them.
#[must_use]
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// The known word nearest to `word`, if one is near enough to be what was meant.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word: String = word.chars().take(80).collect::<String>().to_lowercase();
    known
        .into_iter()
        .map(|k| (strsim::damerau_levenshtein(&word, &k.to_lowercase()), k))
        .filter(|(d, k)| *d <= (k.chars().count().max(word.chars().count()) / 4).max(1))
        .min_by_key(|(d, _)| *d)
        .map(|(_, k)| k)
}

/// What to do about a word that is not known: write the known one that is near, else something other.
#[must_use]
pub fn did_you_mean(near: Option<&str>, otherwise: impl Into<String>) -> String {
    near.map_or_else(|| otherwise.into(), |n| format!("did you mean `{n}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoted_text_stays_on_one_line() {
        assert_eq!(quoted("a\nb"), "`a\\u{a}b`");
        assert_eq!(quoted(&"x".repeat(500)).chars().count(), 63);
        assert_eq!(quoted("\u{202e}x"), "`\\u{202e}x`");
    }

    #[test]
    fn nearest_word_is_near() {
        assert_eq!(nearest("hed", ["head", "herd2"]), Some("head"));
        assert_eq!(nearest("zzz", ["head", "site"]), None);
    }
}
