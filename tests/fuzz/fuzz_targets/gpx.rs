//! What libFuzzer calls for `leafturn_fuzz::gpx`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::gpx::hold(octets));
