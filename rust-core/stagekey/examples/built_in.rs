//! Writes the built-in key as the library carries it, out of its file.

use stagekey::{Key, monarch_text};

fn main() {
    let key = Key::load(monarch_text()).unwrap_or_else(|faults| panic!("{faults}"));
    println!("{}", serde_json::to_string(&key).expect("a key has names and numbers only"));
}
