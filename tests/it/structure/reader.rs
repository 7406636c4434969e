//! Reads which file of a crate takes something from which other, and under what name.
//!
//! Seen is every path: in `use` trees, types, patterns, calls, attributes, and in the tokens that
//! macros are given. A name is followed through `use` and `pub use` to the file that defines it.
//! Not seen is what no path names: methods, fields, and names that a macro makes. Tests are left out.

use std::collections::{BTreeMap, BTreeSet};

use syn::buffer::{Cursor, TokenBuffer};
use syn::visit::{self, Visit};

/// One name that a file takes from another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Import {
    /// The file that takes it, below `src/`.
    pub(crate) from: String,
    /// The path as it is written.
    pub(crate) written: String,
    /// The same from the root of the crate, re-exports not followed.
    pub(crate) named: Vec<String>,
    /// The file that defines it.
    pub(crate) file: String,
}

/// A crate's files, read.
#[derive(Default)]
pub(crate) struct House {
    files: BTreeMap<Vec<String>, File>,
}

#[derive(Default)]
struct File {
    path: String,
    module: Vec<String>,
    /// Modules of files of their own.
    children: BTreeSet<String>,
    tests: BTreeSet<String>,
    /// Names brought in by `use`, with their paths as written.
    uses: BTreeMap<String, Vec<String>>,
    /// Whole modules brought in by `use x::*`.
    globs: Vec<Vec<String>>,
    defined: BTreeSet<String>,
    /// Names of variables: the same word is then no item.
    variables: BTreeSet<String>,
    found: BTreeSet<(Kind, Vec<String>)>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Use,
    /// `pub use`: offered to others under this file's name.
    Offer,
    /// Used in code: a type, a function called, anything with `::`.
    Code,
    /// A lone word in code that may be a variable.
    Word,
}

impl House {
    /// Reads files, given as paths below `src/` and what stands in them.
    pub(crate) fn read(sources: &[(String, String)]) -> House {
        let mut files = BTreeMap::new();
        for (path, text) in sources {
            let module = module_of(path);
            let mut file = File {
                path: path.clone(),
                module: module.clone(),
                ..File::default()
            };
            let tree = syn::parse_file(text).unwrap_or_else(|e| panic!("{path}: {e}"));
            file.visit_file(&tree);
            files.insert(module, file);
        }
        let tests: Vec<Vec<String>> = files
            .values()
            .flat_map(|f| f.tests.iter().map(|t| join(&f.module, t)))
            .collect();
        files.retain(|module, _| !tests.iter().any(|t| module.starts_with(t)));
        House { files }
    }

    /// The files that are read, tests left out.
    pub(crate) fn files(&self) -> impl Iterator<Item = &str> {
        self.files.values().map(|f| f.path.as_str())
    }

    /// Everything that each file takes from another.
    pub(crate) fn imports(&self) -> Vec<Import> {
        let mut imports = BTreeSet::new();
        for file in self.files.values() {
            for (kind, path) in &file.found {
                if *kind == Kind::Word
                    && (file.variables.contains(&path[0]) || !file.uses.contains_key(&path[0]))
                {
                    continue;
                }
                let Some(named) = Self::absolute(file, path, 0) else {
                    continue;
                };
                // `pub use child::Name` in a parent is the child's own name, told to others.
                if *kind == Kind::Offer && named.starts_with(&file.module) {
                    continue;
                }
                if let Some(home) = self.home(&named, 0).filter(|home| *home != file.path) {
                    imports.insert(Import {
                        from: file.path.clone(),
                        written: path.join("::"),
                        named,
                        file: home.to_owned(),
                    });
                }
            }
        }
        imports.into_iter().collect()
    }

    /// A path from the crate's root; nothing for what is another crate's, or a local name.
    fn absolute(file: &File, path: &[String], depth: usize) -> Option<Vec<String>> {
        let (first, rest) = path.split_first()?;
        let start = match first.as_str() {
            "crate" => Vec::new(),
            "self" => file.module.clone(),
            "super" => {
                let mut module = file.module.clone();
                let mut rest = path;
                while let Some((word, after)) = rest.split_first().filter(|(w, _)| *w == "super") {
                    debug_assert_eq!(word, "super");
                    module.pop()?;
                    rest = after;
                }
                module.extend_from_slice(rest);
                return Some(module);
            }
            name if file.uses.get(name).is_some_and(|u| u != path) && depth < 9 => {
                Self::absolute(file, &file.uses[name], depth + 1)?
            }
            name if file.children.contains(name) => join(&file.module, name),
            _ => return None,
        };
        Some([start, rest.to_vec()].concat())
    }

    /// The file that defines what a path names.
    fn home(&self, named: &[String], depth: usize) -> Option<&str> {
        let length = (0..=named.len())
            .rev()
            .find(|n| self.files.contains_key(&named[..*n]))?;
        let file = &self.files[&named[..length]];
        let Some(name) = named.get(length) else {
            return Some(&file.path);
        };
        if file.defined.contains(name) || depth == 9 {
            return Some(&file.path);
        }
        let rest = &named[length + 1..];
        let through = |path: &[String]| {
            let start = Self::absolute(file, path, 1)?;
            (start != named).then(|| self.home(&[&start, rest].concat(), depth + 1))?
        };
        if let Some(path) = file.uses.get(name) {
            // What another crate defines is at home where it is brought in.
            return through(path).or(Some(&file.path));
        }
        file.globs
            .iter()
            .filter_map(|glob| Self::absolute(file, glob, 1))
            .find_map(|module| {
                let there = self.files.get(&module)?;
                (there.defined.contains(name) || there.uses.contains_key(name))
                    .then(|| self.home(&[&join(&module, name), rest].concat(), depth + 1))?
            })
            .or(Some(&file.path))
    }
}

/// `trade/season/mod.rs` is `trade::season`; the roots of library and program are the crate's.
pub(crate) fn module_of(path: &str) -> Vec<String> {
    let path = path.strip_suffix(".rs").unwrap_or(path);
    let mut module: Vec<String> = path.split('/').map(str::to_owned).collect();
    if module.last().is_some_and(|m| m == "mod") || path == "lib" {
        module.pop();
    }
    module
}

fn join(module: &[String], name: &str) -> Vec<String> {
    [module, &[name.to_owned()]].concat()
}

impl File {
    fn note(&mut self, path: Vec<String>) {
        let Some(first) = path.first() else { return };
        let lone = path.len() == 1 && !first.starts_with(char::is_uppercase);
        let kind = if lone { Kind::Word } else { Kind::Code };
        self.found.insert((kind, path));
    }

    fn use_tree(&mut self, tree: &syn::UseTree, before: &[String], kind: Kind) {
        match tree {
            syn::UseTree::Path(p) => {
                self.use_tree(&p.tree, &join(before, &p.ident.to_string()), kind);
            }
            syn::UseTree::Name(n) => self.used(before, &n.ident.to_string(), None, kind),
            syn::UseTree::Rename(r) => {
                self.used(
                    before,
                    &r.ident.to_string(),
                    Some(r.rename.to_string()),
                    kind,
                );
            }
            syn::UseTree::Glob(_) => {
                self.globs.push(before.to_vec());
                self.found.insert((kind, before.to_vec()));
            }
            syn::UseTree::Group(g) => {
                for tree in &g.items {
                    self.use_tree(tree, before, kind);
                }
            }
        }
    }

    fn used(&mut self, before: &[String], name: &str, rename: Option<String>, kind: Kind) {
        let path = if name == "self" {
            before.to_vec()
        } else {
            join(before, name)
        };
        if let Some(last) = rename.or_else(|| path.last().cloned()) {
            self.uses.insert(last, path.clone());
        }
        self.found.insert((kind, path));
    }

    /// Paths in the tokens of a macro or attribute: `a::b`, types, and what is called.
    fn tokens(&mut self, mut at: Cursor<'_>) {
        while !at.eof() {
            if let Some((first, after)) = at.ident() {
                let mut path = vec![first.to_string()];
                at = after;
                while let Some((next, after)) = beyond_colons(at).and_then(Cursor::ident) {
                    path.push(next.to_string());
                    at = after;
                }
                self.note(path);
            } else if let Some((inside, _, _, after)) = at.any_group() {
                self.tokens(inside);
                at = after;
            } else if let Some((text, after)) = at.literal() {
                // `#[serde(default = "module::function")]`
                let text = text.to_string();
                if let Ok(path) = syn::parse_str::<syn::Path>(text.trim_matches('"'))
                    && path.segments.len() > 1
                {
                    self.visit_path(&path);
                }
                at = after;
            } else if let Some((_, after)) = at.token_tree() {
                at = after;
            }
        }
    }
}

fn beyond_colons(at: Cursor<'_>) -> Option<Cursor<'_>> {
    let (first, at) = at.punct()?;
    let (second, at) = at.punct()?;
    (first.as_char() == ':' && second.as_char() == ':').then_some(at)
}

fn for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|a| {
        a.path().is_ident("cfg")
            && matches!(&a.meta, syn::Meta::List(list) if list.tokens.to_string() == "test")
    })
}

fn attributes(item: &syn::Item) -> &[syn::Attribute] {
    match item {
        syn::Item::Fn(i) => &i.attrs,
        syn::Item::Impl(i) => &i.attrs,
        syn::Item::Mod(i) => &i.attrs,
        syn::Item::Use(i) => &i.attrs,
        syn::Item::Const(i) => &i.attrs,
        syn::Item::Static(i) => &i.attrs,
        syn::Item::Struct(i) => &i.attrs,
        syn::Item::Enum(i) => &i.attrs,
        syn::Item::Macro(i) => &i.attrs,
        _ => &[],
    }
}

impl<'a> Visit<'a> for File {
    fn visit_item(&mut self, item: &'a syn::Item) {
        if for_tests(attributes(item)) {
            if let syn::Item::Mod(m) = item {
                self.tests.insert(m.ident.to_string());
            }
            return;
        }
        let name = match item {
            syn::Item::Fn(i) => Some(&i.sig.ident),
            syn::Item::Const(i) => Some(&i.ident),
            syn::Item::Static(i) => Some(&i.ident),
            syn::Item::Struct(i) => Some(&i.ident),
            syn::Item::Enum(i) => Some(&i.ident),
            syn::Item::Trait(i) => Some(&i.ident),
            syn::Item::Type(i) => Some(&i.ident),
            syn::Item::Union(i) => Some(&i.ident),
            syn::Item::Macro(i) => i.ident.as_ref(),
            // Chapters of the manual are modules with nothing in them.
            syn::Item::Mod(i)
                if i.content.as_ref().is_some_and(|(_, items)| {
                    items.iter().any(|x| !matches!(x, syn::Item::Mod(_)))
                }) =>
            {
                panic!("{}: `mod {}` wants a file of its own", self.path, i.ident)
            }
            _ => None,
        };
        self.defined.extend(name.map(ToString::to_string));
        visit::visit_item(self, item);
    }

    fn visit_item_mod(&mut self, module: &'a syn::ItemMod) {
        self.children.insert(module.ident.to_string());
    }

    fn visit_item_use(&mut self, item: &'a syn::ItemUse) {
        let kind = match item.vis {
            syn::Visibility::Inherited => Kind::Use,
            _ => Kind::Offer,
        };
        self.use_tree(&item.tree, &[], kind);
    }

    /// `pub(in crate::x)` takes nothing.
    fn visit_visibility(&mut self, _: &'a syn::Visibility) {}

    fn visit_pat_ident(&mut self, variable: &'a syn::PatIdent) {
        self.variables.insert(variable.ident.to_string());
        visit::visit_pat_ident(self, variable);
    }

    fn visit_path(&mut self, path: &'a syn::Path) {
        self.note(path.segments.iter().map(|s| s.ident.to_string()).collect());
        visit::visit_path(self, path);
    }

    fn visit_expr_call(&mut self, call: &'a syn::ExprCall) {
        if let syn::Expr::Path(function) = &*call.func
            && let Some(name) = function.path.get_ident()
        {
            self.found.insert((Kind::Code, vec![name.to_string()]));
        }
        visit::visit_expr_call(self, call);
    }

    fn visit_attribute(&mut self, attribute: &'a syn::Attribute) {
        if !attribute.path().is_ident("doc") {
            visit::visit_attribute(self, attribute);
        }
    }

    fn visit_meta_list(&mut self, list: &'a syn::MetaList) {
        self.tokens(TokenBuffer::new2(list.tokens.clone()).begin());
    }

    fn visit_macro(&mut self, makro: &'a syn::Macro) {
        self.tokens(TokenBuffer::new2(makro.tokens.clone()).begin());
    }
}
