//! What libFuzzer calls for `leafturn_fuzz::jpeg`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::jpeg::hold(octets));
