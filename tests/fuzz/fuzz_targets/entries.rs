//! What libFuzzer calls for `leafturn_fuzz::entries`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::entries::hold(octets));
