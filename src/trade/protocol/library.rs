//! The protocols that come with the program, and a user's own beside them.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::{Class, Origin, Protocol, read};
use crate::base::document::Tree;
use crate::base::error::{
    Code, Error, Finding, did_you_mean, has_errors, nearest, quoted, visible,
};

/// Protocols by id. A built-in one is read when it is first asked for.
#[derive(Clone, Debug)]
pub struct Library {
    entries: BTreeMap<String, Held>,
}

/// A protocol in the library.
#[derive(Clone, Debug)]
enum Held {
    /// By its place among the built-in ones.
    BuiltIn(usize),
    Own(Box<Protocol>),
}

static READ: [OnceLock<Protocol>; BUILT_IN.len()] = [const { OnceLock::new() }; BUILT_IN.len()];

impl Held {
    fn protocol(&self) -> &Protocol {
        match self {
            Self::Own(protocol) => protocol,
            Self::BuiltIn(n) => READ[*n].get_or_init(|| {
                let (name, text) = BUILT_IN[*n];
                // Tests read every one.
                read(name, text.as_bytes())
                    .unwrap_or_else(|f| panic!("built-in protocol {name}: {f:?}"))
            }),
        }
    }
}

/// The files under `protocols/`, by name.
pub(super) const BUILT_IN: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/protocols.rs"));

impl Library {
    /// The protocols that come with the program. A file is named for its protocol's id.
    #[must_use]
    pub fn built_in() -> Self {
        let names = BUILT_IN.iter().enumerate();
        Self {
            entries: names
                .map(|(n, (name, _))| ((*name).to_owned(), Held::BuiltIn(n)))
                .collect(),
        }
    }

    /// The built-in protocols together with a user's files, given as name and bytes. A user's
    /// protocol may take the place of a built-in one of the same id; the note that comes back
    /// says so.
    ///
    /// # Errors
    /// Every finding in any of the files; two of the user's protocols, or a user's and a built-in
    /// one of another id, with the same name or id.
    pub fn with_files<'a>(
        files: impl IntoIterator<Item = (&'a str, &'a [u8])>,
    ) -> Result<(Self, Vec<Finding>), Error> {
        let Files { library, found, .. } = Files::read(files);
        if has_errors(&found) {
            return Err(Error::input(found));
        }
        Ok((library, found))
    }

    fn add(&mut self, mut protocol: Protocol, tree: &Tree, found: &mut Vec<Finding>) {
        let place = |field: &str| tree.place(field);
        let id = protocol.id.to_string();
        let same_name = self.entries.iter().find(|(k, held)| {
            let p = held.protocol();
            **k != id && p.name == protocol.name && p.class == protocol.class
        });
        if let Some((other, held)) = same_name {
            let name = quoted(&protocol.name);
            let what = format!("the name {name} is taken by {}", quoted(other));
            let finding = Finding::error(Code::ProtocolTwice, what)
                .at(place("name"))
                .expected("a name of its own for each protocol of a class")
                .hint(match &held.protocol().origin {
                    Origin::BuiltIn => format!("to take its place give the same id, `{other}`"),
                    Origin::File(f) => format!("rename it here or in {}", visible(f)),
                });
            found.push(finding);
            return;
        }
        match self.get(&id).map(|p| &p.origin) {
            Some(Origin::File(first)) => {
                let what = format!("{} stands also in {}", quoted(&id), visible(first));
                let finding = Finding::error(Code::ProtocolTwice, what)
                    .at(place("id"))
                    .expected("each protocol once")
                    .hint("remove or rename one of the two");
                found.push(finding);
                return;
            }
            Some(Origin::BuiltIn) => {
                let id = quoted(&id);
                let what = format!("{id} takes the place of the built-in protocol of that id");
                found.push(Finding::note(Code::ProtocolOverrides, what).at(place("id")));
            }
            None => {}
        }
        protocol.origin = Origin::File(tree.file().to_owned());
        self.entries.insert(id, Held::Own(Box::new(protocol)));
    }

    /// The protocol of an id.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Protocol> {
        self.entries.get(id).map(Held::protocol)
    }

    /// The id of the protocol of that published name, for a class of cattle; of several with the
    /// name in theirs, the one with the shortest name. Case, spaces and signs do not count.
    fn by_name(&self, name: &str, class: Class) -> Option<&str> {
        let plain = |t: &str| -> String {
            t.chars()
                .filter(|c| c.is_alphanumeric())
                .flat_map(char::to_lowercase)
                .collect()
        };
        let wanted = plain(name);
        let named = self.iter().filter(|p| {
            wanted.len() > 3
                && (class == Class::Both || p.class.serves(class))
                && plain(&p.name).contains(&wanted)
        });
        named.min_by_key(|p| p.name.len()).map(|p| p.id.as_str())
    }

    /// What to say of an id that no protocol has: the one that may be meant, by its published name
    /// for that class of cattle, or by a slip of the pen.
    pub fn unknown(&self, id: &str, class: Class) -> Finding {
        let near = self.by_name(id, class).or_else(|| nearest(id, self.ids()));
        let what = format!("there is no protocol {}", quoted(id));
        Finding::error(Code::UnknownProtocol, what)
            .expected("the id of a protocol: `thawline protocols` lists them")
            .hint(did_you_mean(
                near,
                "for a protocol of your own give its folder with `--protocols`",
            ))
    }

    /// All protocols, by id.
    pub fn iter(&self) -> impl Iterator<Item = &Protocol> {
        self.entries.values().map(Held::protocol)
    }

    /// All ids.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.entries.keys().map(String::as_str)
    }
}

/// A user's protocol files, read.
pub(super) struct Files {
    /// The built-in protocols, and those that could be added.
    pub(super) library: Library,
    /// Each protocol that is well in itself, with its file.
    pub(super) read: Vec<(Tree, Protocol)>,
    /// Every finding in any of the files.
    pub(super) found: Vec<Finding>,
}

impl Files {
    pub(super) fn read<'a>(files: impl IntoIterator<Item = (&'a str, &'a [u8])>) -> Self {
        let mut all = Self {
            library: Library::built_in(),
            read: Vec::new(),
            found: Vec::new(),
        };
        for (file, bytes) in files {
            // What was read once can be parsed again.
            let read = read(file, bytes).and_then(|protocol| {
                let tree = Tree::parse(file, bytes).map_err(|f| vec![f])?;
                Ok((tree, protocol))
            });
            match read {
                Ok((tree, protocol)) => {
                    all.library.add(protocol.clone(), &tree, &mut all.found);
                    all.read.push((tree, protocol));
                }
                Err(faults) => all.found.extend(faults),
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_named_for_its_id() {
        let library = Library::built_in();
        assert!(
            library
                .iter()
                .map(|p| p.id.as_str())
                .eq(BUILT_IN.iter().map(|(name, _)| *name))
        );
    }

    #[test]
    fn a_users_protocol_adds_or_overrides_and_says_so() {
        let mut built_in = BUILT_IN.iter();
        let text = built_in.find(|(n, _)| *n == "cow-co-synch").unwrap().1;
        let (_, found) = Library::with_files([("mine.yaml", text.as_bytes())]).unwrap();
        assert_eq!(found[0].code, Code::ProtocolOverrides);
        let renamed = text.replacen("id: cow-co-synch", "id: mine", 1);
        let err = Library::with_files([("mine.yaml", renamed.as_bytes())]).unwrap_err();
        assert_eq!(err.findings()[0].code, Code::ProtocolTwice);
        let twice = Library::with_files([("a.yaml", text.as_bytes()), ("b.yaml", text.as_bytes())]);
        assert_eq!(twice.unwrap_err().findings()[0].code, Code::ProtocolTwice);
    }
}
