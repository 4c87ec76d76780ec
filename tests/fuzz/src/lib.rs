//! What must hold for whatever octets come in.
//!
//! Each module is one target: its `hold` takes any octets and panics where a law is broken. libFuzzer calls it with octets
//! of its own making, the replay with those that are kept in `corpus` and `regressions`. Where plain octets would only
//! bounce at a hash, they are read as a description of an input (crate `arbitrary`), and the input is then built right,
//! or wrong in one stated way.

pub mod batches;
mod damage;
pub mod enrolment;
pub mod entries;
pub mod feed;
pub mod files;
pub mod geojson;
pub mod gpx;
pub mod http;
pub mod jpeg;
mod story;

/// A target: any octets in, a panic where a law is broken.
pub type Target = fn(&[u8]);

/// Every target by its name, which is also that of its program and of its folders of inputs.
pub const TARGETS: &[(&str, Target)] = &[
    ("entries", entries::hold),
    ("batches", batches::hold),
    ("feed", feed::hold),
    ("files", files::hold),
    ("jpeg", jpeg::hold),
    ("geojson", geojson::hold),
    ("gpx", gpx::hold),
    ("enrolment", enrolment::hold),
    ("http", http::hold),
];

/// What a target does where no libFuzzer drives it: it holds the files that are named on the command line, one by one.
///
/// # Panics
/// Where a file breaks the law of the target, or cannot be read.
pub fn read_named(target: Target) {
    for file in std::env::args_os().skip(1) {
        target(&std::fs::read(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display())));
        println!("{} holds", file.display());
    }
}
