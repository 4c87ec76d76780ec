//! Key files that are right, and what is said of those that are not.

use stagekey::{Fault, FaultReason, Key, monarch_text};

const LAMP_MOTH: &str = include_str!("keys/lamp-moth.toml");

/// What is replaced, by what, the line of the fault, and its kind.
type Case = (&'static str, &'static str, usize, fn(&FaultReason) -> bool);

fn faults(text: &str) -> Vec<Fault> {
    Key::load(text).unwrap_err().0
}

#[test]
fn the_built_in_key_and_an_invented_one_are_sound() {
    let monarch = Key::load(monarch_text()).unwrap_or_else(|faults| panic!("{faults}"));
    assert_eq!((monarch.outcomes().len(), monarch.invented()), (13, None));
    let invented = Key::load(LAMP_MOTH).unwrap_or_else(|faults| panic!("{faults}"));
    assert!(invented.invented().is_some());
    assert_ne!(monarch.hash(), invented.hash());
}

#[test]
fn each_fault_is_told_with_its_line() {
    use FaultReason as R;
    let line = |needle: &str| 1 + LAMP_MOTH.lines().position(|line| line.contains(needle)).unwrap();
    let egg_row = "{ for = [\"egg\"], p = [0.9, 0.1], source = \"made-up\" }";
    let cases: Vec<Case> = vec![
        ("[0.9, 0.1]", "[0.9, 0.2]", line(egg_row), |r| matches!(r, R::Sum(_))),
        ("[0.9, 0.1]", "[1.0, 0.0]", line(egg_row), |r| matches!(r, R::ZeroOrOne(_))),
        ("[0.9, 0.1]", "[0.9, 0.05, 0.05]", line(egg_row), |r| matches!(r, R::Width { expected: 2, found: 3 })),
        ("p = [0.9, 0.1], source = \"made-up\"", "p = [0.9, 0.1], source = \"hearsay\"", line(egg_row), |r| {
            matches!(r, R::Unknown { what: "source", .. })
        }),
        ("p = [0.9, 0.1], source = \"made-up\"", "p = [0.9, 0.1]", line(egg_row), |r| matches!(r, R::Unreadable(_))),
        ("format = 1", "format = 9", line("format = 1"), |r| matches!(r, R::Format(9))),
        ("threshold = 0.80", "threshold = 0.3", line("threshold = 0.80"), |r| matches!(r, R::Number { .. })),
        ("[\"glowing\", \"dark\"]", "[\"dark\"]", line("id = \"glow\"") - 1, |r| matches!(r, R::TooFewStates(_))),
        ("slip = 0.05", "slip = 0.001", line("means = \"measuring\"") - 1, |r| matches!(r, R::Number { .. })),
        ("from = 0.5, to = 1.0", "from = 5.0, to = 1.0", line("from = 0.5"), |r| matches!(r, R::Number { .. })),
        ("counts_as = \"larva\"", "counts_as = \"larva9\"", line("counts_as = \"larva\""), |r| {
            matches!(r, R::Unreadable(_))
        }),
        ("neighbours = [\"egg\"]", "neighbours = [\"eg\"]", line("id = \"pebble\"") - 1, |r| {
            matches!(r, R::Unknown { what: "outcome", .. })
        }),
        ("deciding = [{ character = \"glow\", state = \"dark\" }]\n", "", line("id = \"pebble\"") - 1, |r| {
            matches!(r, R::Undecided { .. })
        }),
        ("state = \"dark\"", "state = \"purple\"", line("id = \"pebble\"") - 1, |r| {
            matches!(r, R::Unknown { what: "state", .. })
        }),
        ("p = [0.9, 0.1]", "p = [0.3, 0.7]", line("id = \"pebble\"") - 1, |r| matches!(r, R::DoesNotDecide { .. })),
        ("from = 1.0, to = 40.0", "from = 0.5, to = 1.0", line("id = \"grub\"") - 1, |r| {
            matches!(r, R::Unreachable(_))
        }),
        ("id = \"grub\"", "id = \"egg\"", line("id = \"grub\"") - 1, |r| matches!(r, R::Twice(_))),
        ("id = \"weight\"", "id = \"Weight!\"", line("id = \"weight\"") - 1, |r| matches!(r, R::BadName(_))),
    ];
    for (right, wrong, line, is) in cases {
        assert!(LAMP_MOTH.contains(right), "{right}");
        let found = faults(&LAMP_MOTH.replacen(right, wrong, 1));
        assert!(
            found.iter().any(|fault| is(&fault.reason) && fault.line.abs_diff(line) <= 1),
            "{wrong}: {found:?}, line {line}"
        );
        assert!(found.iter().all(|fault| !fault.to_string().is_empty()));
    }
}

#[test]
fn a_file_cut_off_anywhere_leaves_the_built_in_key_in_use() {
    let monarch = Key::monarch();
    for end in (0..monarch_text().len()).step_by(997).filter(|end| monarch_text().is_char_boundary(*end)) {
        let (key, faults) = Key::load_or_monarch(&monarch_text()[..end]);
        assert_eq!(key.hash(), monarch.hash(), "cut after {end} octets");
        let lines = monarch_text()[..end].lines().count();
        let faults = faults.expect("a cut file has a fault");
        assert!(faults.0.iter().all(|fault| fault.line >= 1 && fault.line <= lines + 1), "{faults}");
    }
}

#[test]
fn drawings_that_nobody_has_are_named() {
    let key = Key::load(LAMP_MOTH).unwrap();
    let missing = key.missing(|_| true, |figure| figure == "glow/dark");
    let names: Vec<_> = missing.iter().map(|fault| fault.reason.to_string()).collect();
    assert_eq!(names.len(), 4, "{names:?}");
    assert!(!names.iter().any(|name| name.contains("glow/dark")));
}
