//! The house keeps its shape: imports go down, no two files need each other, files stay short.

mod apart;
mod reader;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use reader::{House, Import, module_of};

/// Storeys from the ground up, each with its modules from the ground up: each may import only
/// those before it. `verify`, `output` and `cli` are of one module each.
const ORDER: &[(&str, &[&str])] = &[
    (
        "base",
        &[
            "error", "units", "progress", "time", "solver", "document", "sheet",
        ],
    ),
    (
        "trade",
        &[
            "sources", "protocol", "figures", "season", "glossary", "herd",
        ],
    ),
    (
        "planning",
        &["dating", "wishes", "crew", "choose", "aftercare", "plan"],
    ),
    (
        "analysis",
        &[
            "tank", "simulate", "thaw", "matings", "supplies", "forecast",
        ],
    ),
    ("verify", &[]),
    ("service", &["pipeline", "files", "staffing"]),
    ("output", &[]),
    ("cli", &[]),
];

/// The stages that a season passes through in the crew model, each of which may use those before it.
const STAGES: &[&str] = &[
    "threads", "margin", "answer", "sessions", "bounds", "flow", "straws", "routes", "assign",
    "schedule", "search", "count", "reasons", "starts",
];

/// The planner's modules, and what of the season only it may use.
const PLANNER: &[&str] = &[
    "planning::dating",
    "planning::crew",
    "planning::aftercare",
    "service::pipeline",
    "trade::season::pace",
];

/// Parents that still define what their children take, and call these: each is counted as one file
/// with its children where it stands alone against them. Circles between children are found here, too.
/// An entry goes when what both need has a file of its own; none may come.
const ONE_WITH_CHILDREN: &[&str] = &["service::staffing::remedies", "trade::season"];

/// The sources, read once.
static HOUSE: LazyLock<House> = LazyLock::new(|| House::read(&sources(&src())));

fn src() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every source file below a directory: its path below `src/`, and its text.
fn sources(dir: &Path) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|x| x == "rs") {
            let below = path.strip_prefix(src()).unwrap();
            let names: Vec<_> = below.iter().map(|c| c.to_str().unwrap()).collect();
            found.push((names.join("/"), fs::read_to_string(&path).unwrap()));
        }
    }
    found.sort();
    found
}

/// The code of every file without its tests, which may look anywhere.
fn code() -> Vec<(String, String)> {
    let all = sources(&src());
    let files: BTreeSet<&str> = HOUSE.files().collect();
    all.iter()
        .filter(|(path, _)| files.contains(path.as_str()))
        .map(|(path, text)| {
            let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
            (path.clone(), code.to_owned())
        })
        .collect()
}

/// How high a module stands: its storey, and its place there.
fn height(module: &[String]) -> Option<(usize, usize)> {
    let (storey, rest) = module.split_first()?;
    let storey = ORDER.iter().position(|(name, _)| name == storey)?;
    let modules = ORDER[storey].1;
    let place = match rest.first() {
        Some(name) if !modules.is_empty() => modules.iter().position(|m| m == name)? + 1,
        _ => 0,
    };
    Some((storey, place))
}

/// Files that have no place in the order.
fn homeless(house: &House) -> Vec<&str> {
    house
        .files()
        .filter(|path| !["lib.rs", "main.rs"].contains(path) && height(&module_of(path)).is_none())
        .collect()
}

/// Imports of what stands higher, by the name that is written or by the file that is meant.
fn upward(imports: &[Import]) -> Vec<String> {
    let below = |i: &&Import| {
        let Some(own) = height(&module_of(&i.from)) else {
            return false;
        };
        let other = height(&i.named).max(height(&module_of(&i.file)));
        other.is_some_and(|other| other > own)
    };
    imports
        .iter()
        .filter(below)
        .map(|i| format!("{} imports {}", i.from, i.written))
        .collect()
}

/// Imports of a later stage of the crew model.
fn against_the_stages(imports: &[Import]) -> Vec<String> {
    let stage = |module: &[String]| match module {
        [planning, crew, stage, ..] if planning == "planning" && crew == "crew" => Some(
            STAGES
                .iter()
                .position(|s| s == stage)
                .unwrap_or_else(|| panic!("{stage} is no stage")),
        ),
        _ => None,
    };
    let later = |i: &&Import| {
        let (from, to) = (stage(&module_of(&i.from)), stage(&module_of(&i.file)));
        from.zip(to).is_some_and(|(from, to)| to > from)
    };
    let later = imports.iter().filter(later);
    later
        .map(|i| format!("{} imports {}", i.from, i.written))
        .collect()
}

/// Paths that do not begin with a storey: the flat names of `lib.rs` are for the outside.
fn flat(imports: &[Import]) -> Vec<String> {
    imports
        .iter()
        .filter(|i| i.from != "lib.rs" && !ORDER.iter().any(|(storey, _)| *storey == i.named[0]))
        .map(|i| format!("{} writes {}", i.from, i.written))
        .collect()
}

/// Files that need each other, with the names that tie them.
fn circles(imports: &[Import]) -> Vec<String> {
    let mut ties: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for i in imports {
        ties.entry(&i.from).or_default().insert(&i.file);
    }
    let reached = |from: &str| {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let mut open: Vec<&str> = ties.get(from).into_iter().flatten().copied().collect();
        while let Some(file) = open.pop() {
            if seen.insert(file) {
                open.extend(ties.get(file).into_iter().flatten());
            }
        }
        seen
    };
    let reached: BTreeMap<&str, BTreeSet<&str>> = ties.keys().map(|f| (*f, reached(f))).collect();
    let mut told = BTreeSet::new();
    let mut circles = Vec::new();
    for (file, from_here) in &reached {
        if !from_here.contains(file) || told.contains(file) {
            continue;
        }
        let members: BTreeSet<&str> = from_here
            .iter()
            .filter(|f| reached.get(*f).is_some_and(|back| back.contains(file)))
            .copied()
            .collect();
        let mut lines = vec![format!("{} files need each other:", members.len())];
        for i in imports {
            if members.contains(&*i.from) && members.contains(&*i.file) {
                lines.push(format!("  {} takes {} from {}", i.from, i.written, i.file));
            }
        }
        circles.push(lines.join("\n"));
        told.extend(members);
    }
    circles
}

#[test]
fn imports_go_down_only() {
    assert_eq!(homeless(&HOUSE), [""; 0], "no place in the order");
    let imports = HOUSE.imports();
    assert!(
        imports.len() > 1000,
        "the reader sees {} imports",
        imports.len()
    );
    let faults = [
        upward(&imports),
        against_the_stages(&imports),
        flat(&imports),
    ]
    .concat();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_two_files_need_each_other() {
    let imports = HOUSE.imports();
    let tied = |i: &Import, parent: &str| {
        let (from, to) = (module_of(&i.from), module_of(&i.file));
        let (from, to) = (from.join("::"), to.join("::"));
        let below = |m: &str| m.starts_with(&format!("{parent}::"));
        from == parent && below(&to) || to == parent && below(&from)
    };
    let apart: Vec<Import> = imports
        .iter()
        .filter(|i| !ONE_WITH_CHILDREN.iter().any(|parent| tied(i, parent)))
        .cloned()
        .collect();
    let found = circles(&apart);
    assert!(found.is_empty(), "{}", found.join("\n"));
    // What is mended stays mended.
    for parent in ONE_WITH_CHILDREN {
        let alone: Vec<Import> = imports
            .iter()
            .filter(|i| apart.contains(i) || tied(i, parent))
            .cloned()
            .collect();
        assert!(
            !circles(&alone).is_empty(),
            "{parent} can be taken off the list"
        );
    }
}

/// A small crate in order, with one more file or another text for one.
fn planted(path: &str, text: &str) -> Vec<Import> {
    let mut files: BTreeMap<&str, &str> = BTreeMap::from([
        (
            "lib.rs",
            "mod base; mod trade; pub mod output; pub use trade::season;",
        ),
        ("base/mod.rs", "pub mod error; pub mod units;"),
        ("base/error.rs", "pub struct Finding;"),
        (
            "base/units.rs",
            "use crate::base::error::Finding; pub struct Head; fn f() -> Finding { Finding }",
        ),
        ("trade/mod.rs", "pub mod season; pub mod herd;"),
        (
            "trade/season/mod.rs",
            "mod raw; mod rules; pub use rules::check; use crate::base::{error, units::Head};
             fn f(_: Head) -> error::Finding { check() }",
        ),
        ("trade/season/raw.rs", "pub struct Raw;"),
        (
            "trade/season/rules.rs",
            "use super::raw::Raw; pub fn check() -> crate::base::error::Finding { todo!() }",
        ),
        (
            "trade/herd.rs",
            "use crate::trade::season::check; fn f() { check(); }
             #[cfg(test)] mod tests { use crate::output::text; }",
        ),
        ("output/mod.rs", "pub mod text; pub use text::line;"),
        ("output/text.rs", "pub fn line() {}"),
    ]);
    files.insert(path, text);
    let files: Vec<_> = files
        .into_iter()
        .map(|(path, text)| (path.to_owned(), text.to_owned()))
        .collect();
    House::read(&files).imports()
}

#[test]
fn an_upward_import_is_found_in_every_form() {
    let clean = planted("output/text.rs", "pub fn line() {}");
    assert_eq!(upward(&clean), [""; 0]);
    assert_eq!(flat(&clean), [""; 0]);
    assert_eq!(circles(&clean), [""; 0]);

    for text in [
        "use crate::output::text;",
        "use crate::output::text::line as l;",
        "use crate::{base::error::Finding, output};",
        "use crate::{base::{error, units}, output::{self, text::line}};",
        "use crate::output::*;",
        "pub use crate::output::line;",
        "use super::super::super::output::text;",
        "use super::super::{season, super::output::line};",
        "use super::super::herd;",
        "fn f() { crate::output::text::line() }",
        "fn f() { use crate::output::text; text::line() }",
        "fn f() -> Vec<crate::output::Page> { todo!() }",
        "impl crate::output::Shown for Raw {}",
        "struct Raw(Option<super::super::herd::Herd>);",
        "fn f() { vec![1].into_iter().map(crate::output::line); }",
        "fn f(x: u8) { match x { crate::output::WIDTH => {} _ => {} } }",
        "fn f() { println!(\"{}\", crate::output::line()); }",
        "fn f() { html! { p { (crate::output::text::line()) } } }",
        "fn f() { json!({ \"a\": [crate::output::line()] }); }",
        "#[derive(Deserialize)] struct Raw { #[serde(default = \"crate::output::line\")] a: u8 }",
        "macro_rules! m { () => { $crate::output::line() } }",
    ] {
        let imports = planted("trade/season/raw.rs", text);
        assert_eq!(upward(&imports).len().min(1), 1, "not seen: {text}");
    }
    // What a lower module passes on from a higher one is higher.
    let passed = planted("base/units.rs", "pub use crate::output::line;");
    assert!(!upward(&passed).is_empty());
}

#[test]
fn an_import_of_a_later_stage_is_found() {
    let stages = |flow: &str, assign: &str| {
        let files = [
            ("lib.rs", "mod planning;"),
            ("planning/mod.rs", "mod crew;"),
            ("planning/crew/mod.rs", "mod flow; mod assign;"),
            ("planning/crew/flow.rs", flow),
            ("planning/crew/assign.rs", assign),
        ];
        let files = files.map(|(path, text)| (path.to_owned(), text.to_owned()));
        against_the_stages(&House::read(&files).imports()).len()
    };
    assert_eq!(stages("pub fn f() {}", "use super::flow::f;"), 0);
    assert_eq!(stages("use super::assign::f;", "pub fn f() {}"), 1);
}

#[test]
fn a_flat_name_is_found() {
    for text in [
        "use crate::season;",
        "use crate::{output::text, season::check};",
        "fn f() { crate::season::check(); }",
        "use super::season::check;",
    ] {
        let imports = planted("output/mod.rs", text);
        assert_eq!(flat(&imports).len(), 1, "not seen: {text}");
    }
}

#[test]
fn files_that_need_each_other_are_found() {
    for (path, text) in [
        // Two files of one folder.
        (
            "trade/season/raw.rs",
            "use super::rules::check; pub struct Raw;",
        ),
        (
            "trade/season/raw.rs",
            "pub struct Raw; fn f() { super::rules::check() }",
        ),
        // By a name that the parent passes on.
        (
            "trade/season/raw.rs",
            "use super::check; pub struct Raw; fn f() { check() }",
        ),
        // A child and the parent that calls it.
        (
            "trade/season/rules.rs",
            "use super::f; pub fn check() { f() }",
        ),
        // Across modules.
        (
            "base/error.rs",
            "pub struct Finding(crate::base::units::Head);",
        ),
        // By the tokens of a macro.
        (
            "trade/season/raw.rs",
            "pub struct Raw; fn f() { html! { (super::rules::check()) } }",
        ),
    ] {
        let imports = planted(path, text);
        assert_eq!(circles(&imports).len(), 1, "not seen: {text}");
    }
}

/// The judge may not ask the judged.
#[test]
fn the_verifier_shares_no_code_with_the_planner() {
    let asks = |imports: Vec<Import>| -> Vec<String> {
        let planners = |path: &[String]| {
            let path = format!("{}::", path.join("::"));
            PLANNER.iter().any(|p| path.starts_with(&format!("{p}::")))
        };
        let of_the_plan = |i: &Import| {
            let last = i
                .named
                .last()
                .is_some_and(|n| n.starts_with(char::is_uppercase));
            i.named
                .starts_with(&["planning".to_owned(), "plan".to_owned()])
                && last
        };
        imports
            .into_iter()
            .filter(|i| i.from.starts_with("verify/"))
            // What the plan passes on is a type of the plan, where it is a type.
            .filter(|i| planners(&i.named) || planners(&module_of(&i.file)) && !of_the_plan(i))
            .map(|i| format!("{} uses {}", i.from, i.written))
            .collect()
    };
    let faults = asks(HOUSE.imports());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let planner = ("planning/dating.rs".to_owned(), "pub fn f() {}".to_owned());
    for text in [
        "use crate::planning::{dating::f, plan};",
        "fn g() { super::planning::dating::f() }",
    ] {
        let verifier = ("verify/mod.rs".to_owned(), text.to_owned());
        let house = House::read(&[planner.clone(), verifier]);
        assert!(!asks(house.imports()).is_empty(), "not seen: {text}");
    }
}

#[test]
fn one_file_names_the_solver() {
    let naming: Vec<String> = code()
        .into_iter()
        .filter(|(_, code)| code.contains("good_lp") || code.contains("microlp"))
        .map(|(path, _)| path)
        .collect();
    assert_eq!(naming, ["base/solver.rs"]);
}

#[test]
fn nothing_in_the_library_reads_the_clock() {
    for (path, code) in code() {
        if path.starts_with("cli/") {
            continue;
        }
        for word in [
            "Utc::now",
            "Local::now",
            "SystemTime::now",
            "Instant::now",
            "HashMap",
            "thread_rng",
        ] {
            assert!(!code.contains(word), "{path} has {word}");
        }
    }
}

#[test]
fn files_are_of_one_idea() {
    for (path, code) in code() {
        let lines = code.lines().count();
        assert!(lines <= 560, "{path} has {lines} lines of code");
    }
}

/// Functions of more than 80 lines, each with its reason. An entry goes when its function gets shorter; a new one
/// needs a reason as good.
const LONG: &[(&str, &str)] = &[];

/// Every function of a file, with its lines from `fn` to its closing brace.
fn functions(code: &str) -> Vec<(String, usize)> {
    let lines: Vec<&str> = code.lines().collect();
    let mut found = Vec::new();
    for (n, line) in lines.iter().enumerate() {
        let text = line.trim_start();
        let Some(at) = text.find("fn ").filter(|_| !text.starts_with("//")) else {
            continue;
        };
        let before = ["pub", "const", "async", "unsafe"];
        let plain = |w: &str| before.iter().any(|b| w.starts_with(b));
        if !text[..at].split_whitespace().all(plain) {
            continue;
        }
        let indent = &line[..line.len() - text.len()];
        let end = lines[n..].iter().position(|l| {
            let after = l.strip_prefix(indent);
            after.is_some_and(|rest| rest == "}" || (rest == text && rest.ends_with(['}', ';'])))
        });
        let name = text[at + 3..].split(['(', '<']).next().unwrap_or_default();
        found.push((name.to_owned(), end.map_or(0, |end| end + 1)));
    }
    found
}

#[test]
fn functions_are_of_one_idea() {
    let mut long = BTreeSet::new();
    for (path, code) in code() {
        for (name, lines) in functions(&code) {
            if lines > 80 {
                let told = LONG.iter().any(|(p, f)| *p == path && *f == name);
                assert!(told, "{path}: `{name}` has {lines} lines");
                long.insert((path.clone(), name));
            }
        }
    }
    assert_eq!(
        long.len(),
        LONG.len(),
        "of these some are short by now: {LONG:?}"
    );
}

#[test]
fn a_long_function_is_found() {
    let body = "        let x = 1;\n".repeat(79);
    let code = format!(
        "impl A {{\n    pub(crate) fn long(&self) {{\n{body}    }}\n\n    fn short() {{}}\n}}\n"
    );
    let found = functions(&code);
    assert_eq!(found, [("long".to_owned(), 81), ("short".to_owned(), 1)]);
}
