//! What libFuzzer calls for `leafturn_fuzz::http`; built plainly, it reads the files that are named.
#![cfg_attr(fuzzing, no_main)]

#[cfg(fuzzing)]
libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::http::hold(octets));

#[cfg(not(fuzzing))]
fn main() {
    leafturn_fuzz::read_named(leafturn_fuzz::http::hold);
}
