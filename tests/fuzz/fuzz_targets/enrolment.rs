//! What libFuzzer calls for `leafturn_fuzz::enrolment`.
#![no_main]

libfuzzer_sys::fuzz_target!(|octets: &[u8]| leafturn_fuzz::enrolment::hold(octets));
