//! The publications that protocols and cautions cite, by tag.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::base::document::Tree;

/// One publication.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Short tag, such as `CFR-690`.
    pub tag: String,
    /// law, extension, journal, proceedings or press.
    pub kind: String,
    /// The citation.
    pub title: String,
}

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| {
    let tree = Tree::parse("sources.yaml", include_bytes!("sources.yaml"))
        .expect("the list of sources is well-formed; a test reads it");
    tree.decode()
        .expect("the list of sources has its form; a test reads it")
});

/// Every publication, in the order of the list.
#[must_use]
pub fn all() -> &'static [Source] {
    &SOURCES
}

/// The publication of a tag.
#[must_use]
pub fn find(tag: &str) -> Option<&'static Source> {
    SOURCES.iter().find(|s| s.tag == tag)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_are_unique_and_titles_carry_no_addresses() {
        let tags: std::collections::BTreeSet<_> = all().iter().map(|s| &s.tag).collect();
        assert_eq!(tags.len(), all().len());
        for s in all() {
            assert!(
                !s.title.contains("http") && !s.title.contains("www."),
                "{}",
                s.tag
            );
            assert!(
                ["law", "extension", "journal", "proceedings", "press"].contains(&s.kind.as_str()),
                "{}",
                s.tag
            );
        }
    }
}
