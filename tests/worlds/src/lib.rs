//! Many phones, one station and a bad network in one process, each run told by one seed.
