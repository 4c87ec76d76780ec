//! What must hold for whatever octets come in.
//!
//! Each module is one target: its `hold` takes any octets and panics where a law is broken. libFuzzer calls it with octets
//! of its own making, the replay with those that are kept in `corpus` and `regressions`. Where plain octets would only
//! bounce at a hash, they are read as a description of an input (crate `arbitrary`), and the input is then built right,
//! or wrong in one stated way.

pub mod batches;
mod damage;
#[cfg(feature = "store")]
pub mod enrolment;
pub mod entries;
pub mod feed;
#[cfg(feature = "store")]
pub mod files;
pub mod geojson;
pub mod gpx;
#[cfg(feature = "store")]
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
    #[cfg(feature = "store")]
    ("files", files::hold),
    ("jpeg", jpeg::hold),
    ("geojson", geojson::hold),
    ("gpx", gpx::hold),
    #[cfg(feature = "store")]
    ("enrolment", enrolment::hold),
    #[cfg(feature = "store")]
    ("http", http::hold),
];
