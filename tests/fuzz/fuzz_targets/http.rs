//! What libFuzzer calls for `leafturn_fuzz::http`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::http::hold(octets));
