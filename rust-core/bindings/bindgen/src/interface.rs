//! Prints the interface of the built library, one sorted line for each name: a change of it shows in review.

use std::process::ExitCode;
use uniffi_bindgen::macro_metadata::extract_from_bytes;
use uniffi_meta::{FieldMetadata, FnParamMetadata, Metadata, Type};

fn main() -> ExitCode {
    let Some(library) = std::env::args().nth(1) else {
        eprintln!("usage: interface LIBRARY");
        return ExitCode::from(2);
    };
    match lines(&library) {
        Ok(mut lines) => {
            lines.sort();
            println!("{}", lines.join("\n"));
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{library}: {error}");
            ExitCode::FAILURE
        }
    }
}

fn lines(library: &str) -> Result<Vec<String>, Box<dyn std::error::Error>> {
    let items = extract_from_bytes(&std::fs::read(library)?)?;
    if items.is_empty() {
        return Err("no interface in this file".into());
    }
    Ok(items.iter().flat_map(item).collect())
}

fn item(item: &Metadata) -> Vec<String> {
    match item {
        Metadata::Func(own) => vec![call(&own.name, &own.inputs, own.return_type.as_ref(), own.throws.as_ref())],
        Metadata::Constructor(own) => {
            let name = format!("{}.{}", own.self_name, own.name);
            vec![call(&name, &own.inputs, None, own.throws.as_ref())]
        }
        Metadata::Method(own) => {
            let name = format!("{}.{}", own.self_name, own.name);
            vec![call(&name, &own.inputs, own.return_type.as_ref(), own.throws.as_ref())]
        }
        Metadata::Record(own) => vec![format!("record {} {{ {} }}", own.name, fields(&own.fields))],
        Metadata::Enum(own) => own
            .variants
            .iter()
            .map(|variant| format!("enum {}.{} {{ {} }}", own.name, variant.name, fields(&variant.fields)))
            .collect(),
        Metadata::Object(own) => vec![format!("object {}", own.name)],
        Metadata::Namespace(_) | Metadata::UdlFile(_) => Vec::new(),
        // What the bindings do not use is shown as it is, so that it cannot come in unnoticed.
        other => vec![format!("other {other:?}")],
    }
}

fn call(name: &str, inputs: &[FnParamMetadata], gives: Option<&Type>, throws: Option<&Type>) -> String {
    let inputs: Vec<String> = inputs.iter().map(|input| format!("{}: {}", input.name, kind(&input.ty))).collect();
    let gives = gives.map_or_else(|| "()".to_owned(), kind);
    let throws = throws.map_or_else(|| "NOTHING".to_owned(), kind);
    format!("call {name}({}) -> {gives} throws {throws}", inputs.join(", "))
}

fn fields(fields: &[FieldMetadata]) -> String {
    fields.iter().map(|field| format!("{}: {}", field.name, kind(&field.ty))).collect::<Vec<_>>().join(", ")
}

fn kind(kind_of: &Type) -> String {
    match kind_of {
        Type::Object { name, .. } | Type::Record { name, .. } | Type::Enum { name, .. } => name.clone(),
        Type::Optional { inner_type } => format!("{}?", kind(inner_type)),
        Type::Sequence { inner_type } => format!("[{}]", kind(inner_type)),
        Type::Map { key_type, value_type } => format!("[{}: {}]", kind(key_type), kind(value_type)),
        plain => format!("{plain:?}"),
    }
}
