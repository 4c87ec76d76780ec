//! Says that `fuzzing` is a setting: cargo-fuzz sets it.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rustc-check-cfg=cfg(fuzzing)");
}
