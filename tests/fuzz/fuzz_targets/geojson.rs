//! What libFuzzer calls for `leafturn_fuzz::geojson`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::geojson::hold(octets));
