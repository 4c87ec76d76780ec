//! What libFuzzer calls for `leafturn_fuzz::feed`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::feed::hold(octets));
