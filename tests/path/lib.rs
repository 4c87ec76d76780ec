//! What the end-to-end tests share: the real station program, a phone, and a folder that goes away.

use demo::Trouble;
use demo::person::Person;
use demo::scenario::Phone;
use demo::station::Station;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;

/// A folder for one test.
///
/// # Errors
/// There is no room for it.
pub fn folder() -> std::io::Result<TempDir> {
    tempfile::tempdir()
}

/// The `leafturn` program of this build; built where it is not there yet.
pub fn leafturn() -> PathBuf {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(build).clone()
}

/// A station whose data lie in `folder`.
///
/// # Errors
/// It does not start.
pub fn station(folder: &Path) -> Result<Station, Trouble> {
    Station::start(&leafturn(), &folder.join("station"), &folder.join("station.log"))
}

/// A person whose phone lies in `folder`.
///
/// # Errors
/// Those of the handset.
pub fn person(folder: &Path, phone: Phone) -> Result<Person, Trouble> {
    let own = folder.join(format!("{phone:?}"));
    std::fs::create_dir_all(&own)?;
    Person::with_phone(phone, &own, "A tester")
}

fn build() -> PathBuf {
    let built = Command::new(env!("CARGO")).args(["build", "--quiet", "--locked", "-p", "station"]).status();
    assert!(built.is_ok_and(|status| status.success()), "the station does not build");
    let own = std::env::current_exe().expect("a test has a path");
    let folder = own.parent().and_then(Path::parent).expect("tests lie two folders below the programs");
    folder.join("leafturn")
}
