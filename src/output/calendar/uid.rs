//! UIDs that stay the same from run to run.

use std::fmt::Write;

use uuid::Uuid;

/// Namespace of the project's UIDs. Changing it, or what is hashed below, would double every
/// event in the phones of those who imported before.
const NAMESPACE: Uuid = Uuid::from_u128(0xee0d_0377_cf49_4144_bd61_d4a1_5357_5ca0);

/// A UUID (RFC 7986, section 5.3) made from the season's name and the names of the event: version
/// 5 of RFC 9562, section 5.5.
pub(super) fn uid(season: &str, names: &[&str]) -> String {
    let mut text = String::new();
    for name in std::iter::once(&season).chain(names) {
        // The length keeps `a/b` + `c` apart from `a` + `b/c`, whatever stands in the names.
        let _ = write!(text, "{}:{name},", name.len());
    }
    Uuid::new_v5(&NAMESPACE, text.as_bytes()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn uids_never_change() {
        // Written down once. A failure here means that old imports would not be updated.
        assert_eq!(
            uid("Spring", &["pass", "mature", "1", "pg"]),
            "753d2ac1-088d-5ae3-a045-45e1f2e9d653"
        );
    }

    #[test]
    fn names_do_not_run_together() {
        assert_ne!(uid("s", &["a/b", "c"]), uid("s", &["a", "b/c"]));
        assert_ne!(uid("s", &["a", ""]), uid("s", &["a"]));
        assert_ne!(uid("s", &["a"]), uid("s2", &["a"]));
    }
}
