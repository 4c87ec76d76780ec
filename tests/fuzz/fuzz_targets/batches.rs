//! What libFuzzer calls for `leafturn_fuzz::batches`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::batches::hold(octets));
