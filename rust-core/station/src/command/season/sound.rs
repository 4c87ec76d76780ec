//! No number leaves that is none.
//!
//! JSON has no word for a number that is none: it would be written as null, and look like "not known". So each answer is
//! held to what `topics.toml` says of its fields before it is written, as a table or as JSON.

use super::describe::described;
use serde_json::Value;

/// Types of fields that are always a number, unless their description speaks of null.
const NUMBERS: [&str; 2] = ["number", "whole number"];

/// The path of the first field that should be a number and is none.
pub(super) fn no_number(value: &Value, topic: &str) -> Option<String> {
    let described = described(topic).into_iter().flat_map(|own| &own.out);
    let always: Vec<&str> = described
        .filter(|field| NUMBERS.contains(&field[1].as_str()) && !field[3].contains("null"))
        .map(|field| field[0].as_str())
        .collect();
    find(value, "", &always)
}

fn find(value: &Value, path: &str, always: &[&str]) -> Option<String> {
    match value {
        Value::Null => always.contains(&path).then(|| path.to_owned()),
        Value::Object(fields) => {
            // An estimate has a value, and an interval has both ends, wherever they stand.
            let wanted: &[&str] = if fields.contains_key("sides") {
                &["low", "high"]
            } else if fields.contains_key("interval") && fields.contains_key("method") {
                &["value"]
            } else {
                &[]
            };
            let missing = wanted.iter().find(|name| fields.get(**name).is_none_or(Value::is_null));
            if let Some(name) = missing {
                return Some(step(path, name));
            }
            fields.iter().find_map(|(name, value)| find(value, &step(path, name), always))
        }
        Value::Array(values) => values.iter().find_map(|value| find(value, &format!("{path}[]"), always)),
        Value::Bool(_) | Value::Number(_) | Value::String(_) => None,
    }
}

fn step(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

#[cfg(test)]
mod tests {
    use super::no_number;
    use serde_json::json;

    #[test]
    fn what_is_no_number_is_found() {
        let table = [
            ("degree-days", json!({ "total": f64::NAN }), Some("total")),
            ("degree-days", json!({ "total": 3.5, "days": [{ "sum": f64::INFINITY }] }), Some("days[].sum")),
            (
                "density",
                json!({ "per_plant": { "value": f64::NAN, "interval": null, "method": "m" } }),
                Some("per_plant.value"),
            ),
            ("density", json!({ "by_t": { "low": 1.0, "high": f64::INFINITY, "sides": "both" } }), Some("by_t.high")),
            ("degree-days", json!({ "total": 3.5, "days": [{ "degree_days": null }] }), None),
            ("density", json!({ "per_plant": { "value": 2.0, "interval": null, "method": "m" } }), None),
        ];
        for (topic, value, wanted) in table {
            assert_eq!(no_number(&value, topic).as_deref(), wanted, "{value}");
        }
    }
}
