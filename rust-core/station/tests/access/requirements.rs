//! The table of requirements names tests that are there.

use std::collections::BTreeSet;
use std::path::Path;

const TABLE: &str = include_str!("requirements.md");

#[test]
fn every_requirement_has_a_test_that_exists_or_a_reason() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut ids = BTreeSet::new();
    let mut tested = 0;
    for line in
        TABLE.lines().filter(|line| ["| ASVS", "| MASVS", "| RFC", "| WCAG"].iter().any(|own| line.starts_with(own)))
    {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        let [id, words, held] = cells[..] else { panic!("{line}") };
        assert!(ids.insert(id.to_owned()), "{id} stands twice");
        assert!(!words.is_empty(), "{id}");
        if let Some(reason) = held.strip_prefix("reason: ") {
            assert!(reason.len() > 10, "{id}");
            continue;
        }
        let (file, test) = held.trim_matches('`').rsplit_once("::").unwrap_or_else(|| panic!("{id}: {held}"));
        let source = std::fs::read_to_string(root.join(file)).unwrap_or_else(|error| panic!("{id}: {file}: {error}"));
        let there = ["(", "<"].iter().any(|after| source.contains(&format!("fn {test}{after}")));
        assert!(there, "{id}: there is no {test} in {file}");
        tested += 1;
    }
    assert!(ids.len() > 120 && tested > 60, "{} rows, {tested} with a test", ids.len());
}
