//! The key that is built in.

use crate::key::Key;

/// What loading `keys/monarch.toml` gives, written down, so that phones carry no reader of key files. A test compares the
/// two; `cargo run -p stagekey --example built_in > rust-core/stagekey/keys/monarch.json` writes it anew.
const MONARCH: &str = include_str!("../keys/monarch.json");

impl Key {
    /// The built-in key of the monarch.
    pub fn monarch() -> Self {
        serde_json::from_str(MONARCH).expect("the built-in key is read by the tests")
    }
}

#[cfg(all(test, feature = "files"))]
mod tests {
    use super::*;
    use crate::monarch_text;

    #[test]
    fn the_built_in_key_is_what_its_file_says() {
        let loaded = Key::load(monarch_text()).unwrap_or_else(|faults| panic!("{faults}"));
        assert_eq!(Key::monarch(), loaded);
    }
}
