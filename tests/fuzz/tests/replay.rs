//! Every kept input once more, without libFuzzer and with any toolchain: `corpus/TARGET` is what libFuzzer found worth
//! keeping, `regressions/TARGET` what once broke a law, by a name that says what.

use leafturn_fuzz::{TARGETS, Target};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

/// The kept inputs of all targets together stay below this many octets.
const MOST_KEPT: usize = 200 * 1024;

#[test]
fn every_kept_input_holds() {
    let mut octets = 0;
    for &(name, target) in TARGETS {
        let inputs = kept(name);
        assert!(!inputs.is_empty(), "{name} has no kept inputs");
        octets += inputs.iter().map(|(_, input)| input.len()).sum::<usize>();
        let broken: Vec<&PathBuf> =
            inputs.iter().filter(|(_, input)| !holds(target, input)).map(|(path, _)| path).collect();
        assert!(broken.is_empty(), "{name}: these break a law: {broken:#?}");
        println!("{name}: {} kept inputs hold", inputs.len());
    }
    assert!(octets <= MOST_KEPT, "{octets} octets are kept, {MOST_KEPT} are the most");
}

/// Inputs that any run begins with: nothing, and each single octet.
#[test]
fn the_shortest_inputs_hold() {
    for &(name, target) in TARGETS {
        assert!(holds(target, &[]), "{name}: no octets");
        for octet in 0..=u8::MAX {
            assert!(holds(target, &[octet]), "{name}: {octet}");
        }
    }
}

fn holds(target: Target, input: &[u8]) -> bool {
    catch_unwind(AssertUnwindSafe(|| target(input))).is_ok()
}

fn kept(name: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let home = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut inputs = Vec::new();
    for folder in ["corpus", "regressions"] {
        let Ok(files) = fs::read_dir(home.join(folder).join(name)) else { continue };
        for file in files {
            let path = file.expect("the folder is read").path();
            inputs.push((path.clone(), fs::read(&path).expect("the input is read")));
        }
    }
    inputs.sort_unstable();
    inputs
}
