//! The law of the boundary, held against the source.

use std::path::Path;
use syn::{FnArg, ImplItem, ImplItemFn, Item, Stmt, Visibility};

/// Every call that is exported, with the file it stands in.
fn exported() -> Vec<ImplItemFn> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let calls = std::fs::read_dir(folder.join("calls")).unwrap().map(|entry| entry.unwrap().path());
    let sources = calls.chain([folder.join("trip.rs")]).map(|path| std::fs::read_to_string(path).unwrap());
    let files = sources.map(|source| syn::parse_file(&source).unwrap());
    files
        .flat_map(|file| file.items)
        .filter_map(|item| match item {
            Item::Impl(own) if is_exported(&own.attrs) => Some(own.items),
            _ => None,
        })
        .flatten()
        .filter_map(|item| match item {
            ImplItem::Fn(own) if matches!(own.vis, Visibility::Public(_)) => Some(own),
            _ => None,
        })
        .collect()
}

fn is_exported(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| attribute.path().segments.last().is_some_and(|last| last.ident == "export"))
}

fn text(tokens: &impl quote::ToTokens) -> String {
    tokens.to_token_stream().to_string()
}

#[test]
fn every_call_returns_a_result_and_takes_at_most_three_arguments() {
    let calls = exported();
    assert!(calls.len() > 25, "{} calls found", calls.len());
    for call in calls {
        let name = call.sig.ident.to_string();
        let gives = text(&call.sig.output);
        assert!(gives.starts_with("-> Result <") && gives.ends_with(", Failure >"), "{name} gives {gives}");
        let arguments = call.sig.inputs.iter().filter(|input| matches!(input, FnArg::Typed(_))).count();
        assert!(arguments <= 3, "{name} takes {arguments} arguments");
        assert!(call.sig.asyncness.is_none(), "{name} is async");
    }
}

/// What is exported passes on and mirrors: no branch, loop or sum stands in a call.
#[test]
fn no_call_decides_anything() {
    for call in exported() {
        let name = call.sig.ident.to_string();
        let body = text(&call.block);
        for word in ["if ", "match ", "for ", "while ", "loop ", " + ", " - ", " * "] {
            assert!(!body.contains(word), "{name} holds `{word}`: logic belongs into the handset");
        }
        assert!(call.block.stmts.len() <= 2, "{name} is longer than a passing on");
        assert!(body.contains("self . held") || body.contains("Held :: open"), "{name} goes past the catch of panics");
        assert!(!call.block.stmts.iter().any(|stmt| matches!(stmt, Stmt::Item(_))));
    }
}

/// Nothing else may be exported, for it would stand outside the catch.
#[test]
fn exports_stand_in_one_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut pending = vec![folder];
    while let Some(folder) = pending.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                pending.push(path);
                continue;
            }
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let exports = std::fs::read_to_string(&path).unwrap().contains("uniffi::export");
            let call = path.parent().is_some_and(|folder| folder.ends_with("calls"));
            assert!(!exports || call || name == "trip.rs", "{} exports", path.display());
        }
    }
}

/// Whoever holds the app is told what is in it: each crate of the library, with its licence.
#[test]
fn every_crate_of_the_library_is_named_with_its_licence() {
    let ours =
        ["bindings", "exchange", "figure", "handset", "messages", "practice", "season", "stagekey", "survey", "sync"];
    let others = include_str!("../dependencies.txt").lines().filter(|name| !ours.contains(name));
    let named: Vec<(&str, &str)> =
        include_str!("../licences.txt").lines().filter_map(|line| line.split_once('\t')).collect();
    for name in others {
        assert!(named.iter().any(|(part, licence)| *part == name && !licence.is_empty()), "{name} has no licence");
    }
}
