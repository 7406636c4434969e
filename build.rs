//! Makes the list of built-in protocols from the folder `protocols/`, so that a new protocol is one file.

use std::fmt::Write;
use std::path::Path;
use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-changed=protocols");
    // Files are named by their whole path, so a folder that was moved asks for another list.
    println!("cargo::rerun-if-env-changed=CARGO_MANIFEST_DIR");
    println!("cargo::rerun-if-changed=build.rs");
    let folder = Path::new(&env::var("CARGO_MANIFEST_DIR").unwrap()).join("protocols");
    let files = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    let mut files: Vec<_> = files
        .filter(|file| file.extension().is_some_and(|x| x == "yaml"))
        .collect();
    // By id, as the library lists them: `-70h` comes after nothing.
    files.sort_by_key(|file| file.file_stem().map(std::ffi::OsStr::to_owned));
    let mut list = String::from("&[\n");
    for file in files {
        let name = file.file_stem().unwrap().to_str().unwrap();
        let path = file.to_str().unwrap();
        writeln!(list, "({name:?}, include_str!({path:?})),").unwrap();
    }
    list.push(']');
    fs::write(
        Path::new(&env::var("OUT_DIR").unwrap()).join("protocols.rs"),
        list,
    )
    .unwrap();
}
