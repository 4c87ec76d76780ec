//! What libFuzzer calls for `leafturn_fuzz::files`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::files::hold(octets));
